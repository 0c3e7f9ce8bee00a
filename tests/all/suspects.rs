//! Which cause: the mathematics against closed forms, and a calibration on simulated cases.

mod asking;
mod brute;
mod calibration;
mod coolant;
mod excluded;

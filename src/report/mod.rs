//! An [`Answer`](crate::study::Answer) as text, JSON, CSV, SVG, HTML. Computes nothing.

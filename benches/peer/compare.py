"""Compares the program with the peer on random cases: the same fan speeds, and how much faster.

    cargo run --release --example dump -- 200 > cases.json
    python benches/peer/compare.py cases.json
"""

import json
import sys
import time

from circuit import Circuit

AGREE = 1e-9  # of each figure
FASTER = 80  # how many times faster per solve the program should be; told, not held: a busy machine is no fault
TURNS = 20  # how often each case has its turn; its best time counts, as in the program


def solve(case):
    begin = time.perf_counter()
    circuit = Circuit(case["inputs"], case["shape"], case["oil"])
    speed = circuit.fan_speed()
    return circuit, speed, time.perf_counter() - begin


def difference(case, circuit, speed):
    """The greatest relative difference in fan speed and, of a turning fan, in pressures, flow and pump speed."""
    off = abs(speed - case["fan_speed"]) / max(speed, 1e-6)
    if speed > 0:
        outlet, pump, taken = circuit.circuit(speed)
        off = max(off, abs(outlet / case["supply_gauge_pressure"] - 1), abs(taken / case["pump_flow"] - 1))
        # What the regulator turns back to the reservoir comes through the hose as well; the balance does not feel it.
        regulated = float("inf") if circuit.regulated is None else circuit.regulated
        if case["shape"]["recirculates"] or taken < regulated * (1 - 1e-9):
            off = max(off, abs(pump["inlet"] / case["inlet_pressure"] - 1), abs(pump["speed"] / case["pump_speed"] - 1))
    return off


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        cases = json.load(file)
    best = [float("inf")] * len(cases)
    for _ in range(TURNS):
        for number, case in enumerate(cases):
            best[number] = min(best[number], solve(case)[2])

    worst, misfits = 0.0, 0
    for number, case in enumerate(cases):
        circuit, speed, _ = solve(case)
        off = difference(case, circuit, speed)
        worst = max(worst, off)
        if not off <= AGREE:
            misfits += 1
            print(f"case {number} ({case['limit']}): {speed} rad/s here, {case['fan_speed']} there, off by {off:.1e}")

    # The program goes on to the pressures before a standing fan, which the peer leaves: so turning ones are timed.
    turning = [number for number, case in enumerate(cases) if case["fan_speed"] > 0]
    here = sum(best[number] for number in turning) / len(turning)
    there = sum(cases[number]["seconds"] for number in turning) / len(turning)
    print(f"{len(cases)} cases, {len(turning)} turning: worst difference {worst:.1e}, {AGREE:.0e} allowed")
    print(f"{here * 1e6:.0f} µs a solve here, {there * 1e6:.1f} µs there")
    met = "met" if here / there >= FASTER else "NOT met on this run"
    print(f"{here / there:.0f} times faster, goal {FASTER}: {met}")
    if misfits:
        sys.exit(1)


if __name__ == "__main__":
    main()

"""Compares the program with the peer on random cases: the same fan speeds, and how much faster.

    cargo run --release --example dump -- 200 > cases.json
    python benches/peer/compare.py cases.json
"""

import json
import sys
import time

from circuit import Circuit

AGREE = 1e-6  # in fan speed, of the speed; both find their root to better than 1e-9
FASTER = 80  # how many times faster per solve the program should be; told, not held: a busy machine is no fault
TURNS = 20  # how often each case has its turn; its best time counts, as in the program


def solve(case):
    begin = time.perf_counter()
    circuit = Circuit(case["inputs"], case["shape"], case["oil"])
    speed = circuit.fan_speed()
    return circuit, speed, time.perf_counter() - begin


def difference(case, circuit, speed):
    """The greatest relative difference in speed and, of a turning fan, in pressure and flow."""
    off = abs(speed - case["fan_speed"]) / max(speed, 1e-6)
    # Where the governor holds the speed its valve stands between its ends, and the peer does not look for where.
    if speed > 0 and "governor.full_speed" not in case["inputs"]:
        outlet, _, taken = circuit.circuit(speed)
        off = max(off, abs(outlet / case["supply_gauge_pressure"] - 1), abs(taken / case["pump_flow"] - 1))
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

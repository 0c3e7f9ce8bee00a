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
REPEATS = 20  # solves of each case; the best counts, as in the program


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        cases = json.load(file)
    worst, ours, theirs, misfits, turning = 0.0, 0.0, 0.0, 0, 0
    for number, case in enumerate(cases):
        times = []
        for _ in range(REPEATS):
            begin = time.perf_counter()
            circuit = Circuit(case["inputs"], case["shape"], case["oil"])
            speed = circuit.fan_speed()
            times.append(time.perf_counter() - begin)
        theirs += min(times)
        ours += case["seconds"]
        turning += speed > 0
        off = abs(speed - case["fan_speed"]) / max(speed, 1e-6)
        # A turning fan's pressure and flow as well; where the governor holds the speed, its valve is between its ends.
        if speed > 0 and "governor.full_speed" not in case["inputs"]:
            outlet, _, taken = circuit.circuit(speed)
            off = max(off, abs(outlet / case["supply_gauge_pressure"] - 1), abs(taken / case["pump_flow"] - 1))
        worst = max(worst, off)
        if off > AGREE:
            misfits += 1
            print(f"case {number} ({case['limit']}): {speed} rad/s here, {case['fan_speed']} there, off by {off:.1e}")
    print(f"{len(cases)} cases, {turning} turning: worst difference {worst:.1e}, {AGREE:.0e} allowed")
    print(f"{theirs / len(cases) * 1e6:.0f} µs a solve here, {ours / len(cases) * 1e6:.1f} µs there")
    met = "met" if theirs / ours >= FASTER else "NOT met on this run"
    print(f"{theirs / ours:.0f} times faster, goal {FASTER}: {met}")
    if misfits:
        sys.exit(1)


if __name__ == "__main__":
    main()

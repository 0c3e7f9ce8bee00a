"""Compares coupled heat solves of the program with the peer: the same temperatures, and how much faster.

    cargo run --release --example dump-heat -- 60 > heat.json
    python benches/peer/compare_heat.py heat.json
"""

import json
import sys
import time

from heat import Heat

AGREE = 1e-6  # K; and 1e-8 of the fan speed: both close their heat to better than 1e-9


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        cases = json.load(file)
    worst, misfits, here, there = 0.0, 0, 0.0, 0.0
    for number, case in enumerate(cases):
        heat = Heat(case["inputs"], case["shape"], case["oil"])
        begin = time.perf_counter()
        found, left = heat.solve()
        here += time.perf_counter() - begin
        there += case["seconds"]
        asked = [case[key] for key in ("coolant_temp", "oil_temp", "air_temp")]
        off = max(abs(a - b) for a, b in zip(found, asked))
        off = max(off, 100 * abs(found[3] / case["fan_speed"] - 1))
        worst = max(worst, off)
        if not off <= AGREE or left > 1e-9:
            misfits += 1
            print(f"case {number}: {found} here, {asked} and {case['fan_speed']} there, {left:.1e} left here")
    count = len(cases)
    print(f"{count} cases: worst difference {worst:.1e} K, {AGREE:.0e} allowed")
    print(f"{here / count * 1e3:.1f} ms a solve here, {there / count * 1e3:.3f} ms there")
    print(f"{here / there:.0f} times faster")
    if misfits:
        sys.exit(1)


if __name__ == "__main__":
    main()

"""Integrates the same lumped equations with SciPy along trips of the program: the same temperatures, and the ratio of times.

    cargo run --release --example dump-trip > trips.json
    python benches/peer/trip.py trips.json

What flows at each moment (heat, conductances, arriving air) is the program's, with straight lines between its moments; the
temperatures are integrated here. So this checks the integration and the bookkeeping, not the flows.
"""

import json
import sys
import time

import numpy as np
from scipy.integrate import solve_ivp

AGREE = 0.15  # K; the moments lie up to 10 s apart, and straight lines between them are not the flows themselves
TURNS = 3


def integrate(trip):
    when = np.array(trip["time"])
    keys = ["engine_heat", "from_coolant", "to_air", "arriving", "oil_net", "given_off"]
    flows = np.array([trip[key] for key in keys])
    metal, coolant, core, oil, slow = trip["capacities"]
    joined, followed = trip["metal_to_coolant"], trip["slow_joined"]

    def rates(t, y):
        place = min(max(np.searchsorted(when, t, side="right") - 1, 0), len(when) - 2)
        span = when[place + 1] - when[place]
        part = (t - when[place]) / span if span > 0 else 0.0
        heat, inward, outward, arriving, oil_net, given_off = flows[:, place] + (flows[:, place + 1] - flows[:, place]) * part
        from_metal = joined * (y[0] - y[1])
        to_slow = followed * (y[0] - y[4])
        into_core = inward * (y[1] - y[2])
        return [
            (heat - given_off - from_metal - to_slow) / metal,
            (from_metal - into_core) / coolant,
            (into_core - outward * (y[2] - arriving)) / core,
            oil_net / oil,
            to_slow / slow,
        ]

    # No step longer than the program's: what changes between two moments must be met.
    return solve_ivp(
        rates, (when[0], when[-1]), [trip["start"]] * 5, rtol=1e-8, atol=1e-5, max_step=10.0, dense_output=True
    )


def main():
    with open(sys.argv[1], encoding="utf-8") as file:
        trips = json.load(file)
    failed = False
    for trip in trips:
        best = float("inf")
        for _ in range(TURNS):
            begin = time.perf_counter()
            found = integrate(trip)
            best = min(best, time.perf_counter() - begin)
        there = found.sol(np.array(trip["time"]))
        off = [np.max(np.abs(there[1] - trip["coolant"])), np.max(np.abs(there[3] - trip["oil"]))]
        failed |= not max(off) <= AGREE
        print(
            f"{trip['name']}: coolant within {off[0]:.3f} K, oil within {off[1]:.3f} K, {AGREE} allowed; "
            f"{best * 1e3:.0f} ms here for the lumped equations alone, {trip['seconds'] * 1e3:.1f} ms there with "
            f"circuit and air at every step: {best / trip['seconds']:.0f} times"
        )
    if failed:
        sys.exit(1)


if __name__ == "__main__":
    main()

"""Compares the reading of a long log with pandas: the same time above 100 °C, and how much faster.

    cargo bench --bench log -- --write long.csv
    cargo build --release
    python benches/peer/log.py target/release/oilwheel long.csv
"""

import json
import os
import subprocess
import sys
import time

import pandas

FASTER = 3.0  # how many times faster the program should be than read_csv with its C parser, which uses one core; told, not held
RUNS = 3  # the best counts


def best(work):
    times = []
    for _ in range(RUNS):
        begin = time.perf_counter()
        result = work()
        times.append(time.perf_counter() - begin)
    return min(times), result


def main():
    program, path = sys.argv[1], sys.argv[2]
    size = os.path.getsize(path) / 1e6

    def ours():
        done = subprocess.run([program, "log", path, "--json"], capture_output=True, check=True)
        return json.loads(done.stdout)

    read_alone, table = best(lambda: pandas.read_csv(path, engine="c"))

    def theirs():
        table = pandas.read_csv(path, engine="c")
        clock = table["Time"].str.split(":", expand=True).astype(float)
        seconds = clock[0] * 3600 + clock[1] * 60 + clock[2]
        step = seconds.diff().shift(-1)
        step[step < 0] += 86400
        hot = table.iloc[:, 1] >= 100
        return step[hot].sum()

    with_answer, hot = best(theirs)
    took, answer = best(ours)
    level = next(t for t in answer["thresholds"] if abs(t["threshold_c"] - 100) < 1e-9)
    print(f"{size:.0f} MB: {size / took:.0f} MB/s here with the whole answer, {took:.2f} s")
    print(f"pandas: {size / read_alone:.0f} MB/s for read_csv alone, {size / with_answer:.0f} MB/s with the time above 100 °C")
    print(f"{read_alone / took:.1f} times read_csv alone (goal {FASTER}), {with_answer / took:.1f} times with that time")
    agree = abs(level["time_s"] - hot) <= 1e-6 * hot and answer["rows_read"] == len(table)
    if not agree:
        print(f"they differ: {level['time_s']} s here, {hot} s there")
        sys.exit(1)


if __name__ == "__main__":
    main()

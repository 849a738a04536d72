#!/usr/bin/env python3
"""How often each choice of each result, each flag and each known value occurs in a cohort: coverage.py FOLDER --as-of DATE.
Exits with 1 where a choice or a flag does not occur."""

import argparse
import csv
import datetime
import os

import reading


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("folder")
    parser.add_argument("--as-of", type=datetime.date.fromisoformat, default=datetime.date(2026, 3, 31))
    options = parser.parse_args()
    files = [os.path.join(options.folder, name + ".csv") for name in ("cases", "followups", "devices")]
    cases = reading.read_cases(*files, options.as_of)
    print(f"{len(cases)} cases, {sum(len(k.visits) for k in cases)} counted visits")
    absent = []
    with open(os.path.join(reading.CONTRACT, "results.csv"), encoding="utf-8", newline="") as f:
        for row in csv.DictReader(f):
            name = row["column"]
            if name in ("flags", "in_doubt", "missing"):
                continue
            values = [k[name] for k in cases]
            if row["choices"]:
                counts = {choice: values.count(choice) for choice in row["choices"].split("|")}
                absent += [f"{name}={choice}" for choice, n in counts.items() if n == 0]
                assert sum(counts.values()) == len(values), name
                print(f"{name}: " + ", ".join(f"{choice} {n}" for choice, n in counts.items()))
            else:
                print(f"{name}: known {sum(v is not None for v in values)}, blank {sum(v is None for v in values)}")
    for code, _ in reading.FLAGS:
        n = sum(code in (k["flags"] or "").split(";") for k in cases)
        absent += [f"flag {code}"] if n in (0, len(cases)) else []
        print(f"flag {code}: {n}")
    failed = {}
    for k in cases:
        for name in reading.contradictions(k):
            name = name if "visit" not in name else name.split(",")[0] + ", visit"
            failed[name] = failed.get(name, 0) + 1
    print("contradictions: " + "; ".join(f"{name} {n}" for name, n in sorted(failed.items())))
    print("does not occur: " + (", ".join(absent) or "nothing"))
    raise SystemExit(1 if absent else 0)


if __name__ == "__main__":
    main()

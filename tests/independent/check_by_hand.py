#!/usr/bin/env python3
"""Compares reading.py with by_hand.csv, and says which results of the contract have no row there."""

import csv
import datetime
import os
import re

import reading

START, AS_OF = datetime.date(2024, 1, 10), datetime.date(2026, 1, 10)
DEVICE = {"label": "demo", "mechanism": "balloon_expandable", "labelled_size_mm": "26", "sized_by": "area"}
VISIT = re.compile(r"visit\[(-?\d+)\]\.(\w+)\Z")
ROW_OF_DEVICE = re.compile(r"device(?:\[(\w+)\])?\.(\w+)\Z")


def build(inputs):
    """The case that the inputs of a row describe (README.md says how they are written)."""
    cells = {"case_id": "H1", "procedure_date": START.isoformat()}
    visits, devices, as_of = {}, {}, AS_OF
    for part in filter(None, inputs.split(";")):
        name, _, value = part.partition("=")
        visit, device = VISIT.match(name), ROW_OF_DEVICE.match(name)
        if visit:
            visits.setdefault(int(visit[1]), {})[visit[2]] = value
        elif device:
            devices.setdefault(device[1] or "D1", {})[device[2]] = value
        elif name == "as_of":
            as_of = datetime.date.fromisoformat(value)
        else:
            assert name in reading.COLUMNS["cases"], name
            cells[name] = value
    if devices and "device_id" not in cells:
        cells["device_id"] = "D1"
    start = datetime.date.fromisoformat(cells["procedure_date"])
    rows = [reading.Row("followups", dict(texts, case_id=cells["case_id"], visit_date=(start + datetime.timedelta(day)).isoformat()))
            for day, texts in visits.items()]
    catalogue = {name: reading.Row("devices", {**DEVICE, **texts, "device_id": name}).values for name, texts in devices.items()}
    return reading.Case(reading.Row("cases", cells), rows, catalogue, as_of)


def main():
    failures, seen, count = [], set(), 0
    with open(os.path.join(reading.HERE, "by_hand.csv"), encoding="utf-8", newline="") as f:
        for number, row in enumerate(csv.DictReader(f), 2):
            case, result = build(row["inputs"]), row["result"]
            if result.startswith("flags:"):
                found = "yes" if result[6:] in (case["flags"] or "").split(";") else "no"
            else:
                found = case[result]
            text = reading.cell_text(found)
            agrees = text == row["expected"]
            if row["tolerance"] and row["expected"] and found is not None:
                agrees = abs(found - float(row["expected"])) <= float(row["tolerance"])
            if not agrees:
                failures.append(f"line {number}: {result}: {row['inputs']}: {text or 'blank'} is not {row['expected'] or 'blank'}")
            seen.add(result)
            count += 1
    wanted = set(reading.RESULTS_ORDER) - {"flags", "in_doubt", "missing"} | {"flags:" + code for code, _ in reading.FLAGS}
    failures += [f"no row: {name}" for name in sorted(wanted - seen)] + [f"not a result: {name}" for name in sorted(seen - wanted)]
    print("\n".join(failures) or f"{count} rows agree")
    raise SystemExit(1 if failures else 0)


if __name__ == "__main__":
    main()

#!/usr/bin/env python3
"""Check visits.ics with parsers that are not ours, against worklist.csv of the same run.

    tests/tools/check_calendar.py visits.ics worklist.csv [--labels]

Reads the calendar with two libraries (icalendar and vobject), demands the rules of RFC 5545 that they do not (CR LF,
75 octets, required properties), and that the events are those of the worklist: one all-day event on the due day of each
visit that is due, overdue or opens soon, none for patients followed elsewhere, declined or unreachable. Exits 1 with
the complaints.

Needs: pip install icalendar vobject.
"""

import csv
import datetime
import sys

import icalendar
import vobject

WITH_EVENT = {"due", "overdue", "opens_soon"}
APART = {"elsewhere", "declined", "unreachable"}


def expected(path):
    """Due day and case of every event that the worklist asks for, and the labels of all its patients."""
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    events = sorted(
        (datetime.date.fromisoformat(row["next_visit_due"]), row["case_id"])
        for row in rows
        if row["why"] in WITH_EVENT and row["follow_up_status"] not in APART
    )
    return events, [row["patient_label"] for row in rows if row["patient_label"]], rows


def complaints(calendar_path, worklist_path, labels):
    with open(calendar_path, "rb") as file:
        raw = file.read()
    events, names, rows = expected(worklist_path)
    as_of = datetime.date.fromisoformat(rows[0]["as_of"]) if rows else None

    if raw.replace(b"\r\n", b"").count(b"\n") or raw.replace(b"\r\n", b"").count(b"\r"):
        yield "a line does not end in CR LF"
    for line in raw.split(b"\r\n"):
        if len(line) > 75:
            yield f"{len(line)} octets in {line!r}"
        line.decode("utf-8")

    calendar = icalendar.Calendar.from_ical(raw)
    for name in ("VERSION", "PRODID"):
        if name not in calendar:
            yield f"no {name}"
    found, keys = [], set()
    for event in calendar.walk("VEVENT"):
        summary = str(event["SUMMARY"])
        start, end = event.decoded("DTSTART"), event.decoded("DTEND")
        if isinstance(start, datetime.datetime) or end - start != datetime.timedelta(days=1):
            yield f"{summary}: not one whole day"
        stamp = event.decoded("DTSTAMP")
        if stamp.date() != as_of or stamp.utcoffset() != datetime.timedelta(0):
            yield f"{summary}: stamped {stamp}"
        keys.add(str(event["UID"]))
        found.append((start, summary.rsplit("case ", 1)[1]))
        if labels and not any(name in summary for name in names):
            yield f"{summary}: no label"
        if getattr(event, "errors", None):
            yield f"{summary}: {event.errors}"
    if sorted(found) != events:
        yield f"events {sorted(found)}, worklist {events}"
    if len(keys) != len(found):
        yield "a UID stands twice"
    if not labels:
        text = raw.replace(b"\r\n ", b"").decode("utf-8")
        yield from (f"label {name!r} in the calendar" for name in names if name in text)

    other = vobject.readOne(raw.decode("utf-8"))
    second = sorted((event.dtstart.value, event.summary.value.rsplit("case ", 1)[1]) for event in other.contents.get("vevent", []))
    if second != events:
        yield f"the second library reads {second}"


def main():
    labels = "--labels" in sys.argv
    paths = [argument for argument in sys.argv[1:] if not argument.startswith("--")]
    found = list(complaints(*paths, labels))
    for complaint in found:
        print(complaint)
    print(f"{paths[0]}: {'clean' if not found else 'faults'}")
    sys.exit(1 if found else 0)


if __name__ == "__main__":
    main()

"""Reads exported calendars back with an independent library, and says what it found.

    waystock --dir demo export ics --days 14 > stops.ics
    python tests/peers/read_calendar.py stops.ics [later.ics]

Needs icalendar (7.3.2 was used). With a second, later export of the same plan it checks as well
that every stop kept its identity and that sequences rose.
"""

import sys

from icalendar import Calendar


def events(path):
    data = open(path, "rb").read()
    for line in data.split(b"\r\n"):
        assert len(line) <= 75 and b"\n" not in line, line
    calendar = Calendar.from_ical(data)
    found = {}
    for event in calendar.walk("VEVENT"):
        assert not event.errors, event.errors
        assert str(event["STATUS"]) == "TENTATIVE" and str(event["TRANSP"]) == "TRANSPARENT"
        assert event.decoded("DTEND") > event.decoded("DTSTART")
        assert str(event["UID"]) not in found, "an identity twice"
        found[str(event["UID"])] = event
    return found


def main(paths):
    first = events(paths[0])
    for uid, event in first.items():
        print(event.decoded("DTSTART").isoformat(), str(event["SUMMARY"]), "|", uid)
    for path in paths[1:]:
        later = events(path)
        same = set(first) & set(later)
        assert same, "no stop kept its identity"
        for uid in same:
            assert int(later[uid]["SEQUENCE"]) > int(first[uid]["SEQUENCE"]), uid
        print(f"{len(same)} of {len(first)} events kept their identity in {path}")


main(sys.argv[1:])

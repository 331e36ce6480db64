"""Theatre lists go in whole or not at all; importing again matches by reference and eye."""

from __future__ import annotations

import pytest

from server.core.errors import InvalidInput
from server.core.theatre_list import HEADER, BadList
from server.flows import lists, units, week
from server.store import log
from server.store.scope import reading
from tests.support.served_unit import UNIT, served_unit
from tests.support.tablet import Tablet

NOW_MS = 1_795_597_200_000  # 2026-11-25 09:00 in London
LIST = f"{UNIT}_2026-11-25_theatre-2"


@pytest.fixture
def served(tmp_path):
    with served_unit(tmp_path) as unit:
        yield unit


def line(order, reference, eye="right", power="21.50", theatre="theatre-2", date="2026-11-25", drug="cefuroxime"):
    return f"{theatre},{date},{order},{eye},topical,good,AURA-1,{power},6.0,no,{drug},{reference}\r\n"


def bring_in(served, *lines, unit=UNIT):
    return lists.import_lists(served.authority, unit, (",".join(HEADER) + "\r\n" + "".join(lines)).encode(), NOW_MS)


def slots(first="2026-11-25", last="2026-11-25"):
    return {
        found["list"]: [
            (row["order"], row["reference"], row["eye"], row["lens"]["power_cdpt"]) for row in found["rows"]
        ]
        for found in lists.lists_of(UNIT, first, last)
    }


def office_events():
    with reading(UNIT) as scope:
        return [found.event for found in log.events_about(scope, [LIST])]


def test_a_file_becomes_one_list_for_each_theatre_and_day(served):
    done = bring_in(
        served, line(2, "AB2C"), line(1, "AB1C"), line(1, "AB3C", theatre="t9"), line(1, "AB1C", date="2026-11-26")
    )
    assert [(found.theatre, found.date, found.added) for found in done] == [
        ("t9", "2026-11-25", 1), ("theatre-2", "2026-11-25", 2), ("theatre-2", "2026-11-26", 1),
    ]  # fmt: skip
    assert slots(last="2026-11-26") == {
        f"{UNIT}_2026-11-25_t9": [(1, "AB3C", "right", 2150)],
        LIST: [(1, "AB1C", "right", 2150), (2, "AB2C", "right", 2150)],
        f"{UNIT}_2026-11-26_theatre-2": [(1, "AB1C", "right", 2150)],
    }


def test_importing_again_matches_by_reference_and_eye(served):
    bring_in(served, line(1, "AB1C"), line(2, "AB2C"), line(3, "AB3C"), line(4, "AB3C", eye="left"))
    (done,) = bring_in(served, line(1, "AB2C"), line(2, "AB1C", power='"-1,25"'), line(3, "AB3C"), line(4, "NEW1"))
    assert (done.added, done.changed, done.withdrawn, done.unchanged) == (1, 2, 1, 1)
    assert slots()[LIST] == [
        (1, "AB2C", "right", 2150), (2, "AB1C", "right", -125), (3, "AB3C", "right", 2150), (4, "NEW1", "right", 2150),
    ]  # fmt: skip


def test_importing_the_same_file_again_changes_nothing(served):
    bring_in(served, line(1, "AB1C"), line(2, "AB2C"))
    bring_in(served, line(1, "AB1C"))
    (done,) = bring_in(served, line(1, "AB1C"))
    assert (done.added, done.changed, done.withdrawn, done.unchanged) == (0, 0, 0, 1)


def test_a_slot_that_was_taken_off_can_come_back(served):
    bring_in(served, line(1, "AB1C"), line(2, "AB2C"))
    bring_in(served, line(1, "AB1C"))
    (done,) = bring_in(served, line(1, "AB1C"), line(2, "AB2C"))
    assert (done.added, done.changed, done.unchanged) == (0, 1, 1)
    assert len(slots()[LIST]) == 2


def test_one_bad_row_keeps_the_whole_file_out(served):
    with pytest.raises(BadList):
        bring_in(served, line(1, "AB1C"), line(2, "1234567"))
    assert slots() == {}
    assert office_events() == []


def test_an_import_stands_in_the_office_log_with_its_rows(served):
    bring_in(served, line(1, "AB1C", power="-1.25"))
    (event,) = office_events()
    assert (event["type"], event["list"], event["date"], event["theatre"]) == (
        "list_imported", LIST, "2026-11-25", "theatre-2",
    )  # fmt: skip
    assert event["rows"][0]["plan"]["lens"]["power_cdpt"] == -125


def test_one_operation_cannot_stand_on_two_lists_of_a_day(served):
    bring_in(served, line(1, "AB1C"), line(2, "AB2C"))
    with pytest.raises(BadList, match=f"line 3, reference: found AB2C, right eye, as on the list {LIST}"):
        bring_in(served, line(1, "AB9C", theatre="t9"), line(2, "AB2C", theatre="t9"))
    bring_in(served, line(1, "AB1C"), line(2, "AB2C", theatre="t9"))
    assert [len(rows) for rows in slots().values()] == [1, 1]


def test_the_drugs_are_those_of_the_units_values_in_force(served):
    values = {"drugs": {"levofloxacin": {"dose_ug": 500}}}
    units.publish_values(served.authority, UNIT, values, "the pharmacy changed it", NOW_MS)
    with pytest.raises(BadList, match="line 2, drug"):
        bring_in(served, line(1, "AB1C"))
    bring_in(served, line(1, "AB1C", drug="levofloxacin"))


def test_an_unknown_unit_is_named(served):
    with pytest.raises(InvalidInput, match="nowhere"):
        bring_in(served, line(1, "AB1C"), unit="nowhere")


def test_listed_operations_are_counted_until_they_are_received(served):
    bring_in(served, line(1, "AB1C"), line(2, "AB2C"), line(3, "AB2C", eye="left"), line(1, "AB1C", date="2026-12-01"))
    tablet = Tablet(served)
    tablet.operation("2026-11-25", "AB1C", NOW_MS)
    tablet.send(NOW_MS)
    quality = week.report(served.authority, UNIT, "2026-W48").quality
    assert (quality["cases_listed"], quality["cases_received"], quality["listed_not_received"]) == (3, 1, 2)
    tablet.open_case("2026-11-25", "AB2C", NOW_MS, practice=True)
    tablet.send(NOW_MS)
    bring_in(served, line(2, "AB2C"), line(3, "AB2C", eye="left"))
    quality = week.report(served.authority, UNIT, "2026-W48").quality
    assert (quality["cases_listed"], quality["cases_received"], quality["listed_not_received"]) == (2, 1, 2)

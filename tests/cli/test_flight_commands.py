"""Commands about a planned flight: its oxygen, its levels, its route; and a deviation's report."""

from collections.abc import Callable

import pytest

from tests.cli.conftest import REG, Cli, Ran

AT = "2026-11-24T08:00Z"
# The demo's cylinders: one nearly full, one that has not been filled since the summer.
FULL, LOW = "QX-ALD", "QX-ESK"


def ask(registration: str, *more: str) -> tuple[str, ...]:
    """Give the command that asks about the demo's flight."""
    return ("gonogo", registration, "--at", AT, "--pilot", "IVO", "--level", "310", *more)


def test_enough_oxygen_and_too_little_on_the_same_route(demo: Cli) -> None:
    """Over high ground the one may go, the other may not; the level that remains is counted."""
    full = demo(*ask(FULL, "--route", "RIDGE", "--json"))
    assert (full.status, full.json["verdict"]) == (0, "GO")
    low = demo(*ask(LOW, "--route", "RIDGE", "--json"))
    assert (low.status, low.json["verdict"]) == (1, "NO-GO")
    finding = next(each for each in low.json["findings"] if each["rule"] == "oxygen-too-little")
    assert finding["outcome"] == "not met"
    assert finding["highest_level"] == low.json["highest_level"]
    assert 140 <= finding["highest_level"] < 310
    again = demo(*ask(LOW, "--route", "RIDGE"), "--level", str(finding["highest_level"]))
    assert again.status == 0
    above = demo(*ask(LOW, "--route", "RIDGE"), "--level", str(finding["highest_level"] + 1))
    assert above.status == 1


def test_two_who_fly_are_both_asked(demo: Cli) -> None:
    """Two pilots: the second is named, and has training on record, or RVSM is lost."""
    words = ("gonogo", FULL, "--level", "310", "--at", AT, "--pilot", "IVO", "--people", "2+1")

    def rows(*more: str) -> list[tuple[str, int | None]]:
        answer = demo(*words, "--dry-run", "--json", *more).json
        found = [each for each in answer["findings"] if each["rule"] == "pilot-knowledge-missing"]
        return [(each["outcome"], each["highest_level"]) for each in found]

    assert rows() == [("met", None), ("not on record", 280)]
    assert rows("--second-pilot", "tqu") == [("met", None), ("met", None)]
    assert rows("--second-pilot", "ABR") == [("met", None), ("not on record", 280)]


def test_two_who_are_named_are_not_counted_as_one(demo: Cli) -> None:
    """One crew and a second pilot contradict each other, said or by a route: both are named."""
    for words in (("--people", "1+2"), ("--route", "RIDGE")):
        for command in (("gonogo", FULL, "--pilot", "IVO", "--dry-run"), ("oxygen", "need", FULL)):
            ran = demo(*command, "--at", AT, "--second-pilot", "TQU", *words)
            assert ran.status == 2
            assert "--second-pilot names TQU" in ran.err
            assert "one crew" in ran.err
            assert "--people" in ran.err


def test_what_is_said_goes_before_the_route(demo: Cli) -> None:
    """With the pilot alone and a short hold the same oxygen is enough."""
    ran = demo(*ask(LOW, "--route", "ridge", "--people", "1+0", "--hold-minutes", "20"))
    assert ran.status == 0
    assert "route RIDGE" in ran.out


def test_without_a_word_about_the_flight_the_answer_says_what_it_assumed(demo: Cli) -> None:
    """Silence is not a pass: people, hold, descent and contaminated air are named."""
    out = " ".join(demo(*ask(FULL)).out.split())
    for says in (
        "assumed: every mask in use: 2 crew, 4 passengers",
        "assumed: nothing forbids a descent to 10,000 ft at once",
        "assumed: contaminated air not counted",
    ):
        assert says in out


def test_a_recorded_check_repeats_though_the_route_changes(demo: Cli) -> None:
    """The entry keeps the flight's data."""
    first = demo(*ask(LOW, "--route", "RIDGE", "--json")).json
    demo.ok("route", "set", "--name", "RIDGE", "--crew", "1", "--passengers", "0")
    again = demo("gonogo", LOW, "--as-of", str(first["entry"]), "--json").json
    assert again["findings"] == first["findings"]
    assert again["repeats"] == first["entry"]


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--people", "4"), "--people"),
        (("--people", "0+3"), "--people"),
        (("--hold-level", "14000"), "--hold-level"),
        (("--hold-level", "140"), "hold"),
        (("--hold-minutes", "-5"), "--hold-minutes"),
        (("--differential", "13"), "--differential"),
        (("--track", "361"), "--track"),
        (("--split", "045-224"), "--split"),
        (("--second-pilot", "I VO"), "--second-pilot"),
        (("--route", "NOWHERE"), "NOWHERE"),
        (("--descent-fpm", "fast"), "--descent-fpm"),
        (("--contaminated-mode", "normal"), "--contaminated-mode"),
    ],
)
def test_bad_data_of_a_flight_name_their_option(
    demo: Cli,
    check_one_line: Callable[[Ran, int], None],
    words: tuple[str, ...],
    named: str,
) -> None:
    """One line, status 2, and nothing is recorded."""
    before = demo.seals()
    ran = demo(*ask(FULL, *words))
    check_one_line(ran, 2)
    assert named in ran.err
    assert demo.seals() == before


def test_oxygen_need_shows_each_case_with_what_is_left(demo: Cli) -> None:
    """As JSON; nothing is recorded."""
    before = demo.seals()
    words = ("oxygen", "need", LOW, "--at", AT, "--level", "310", "--route", "RIDGE")
    answer = demo.ok(*words, "--json").json
    cases = {case["case"]: case for case in answer["cases"]}
    assert set(cases) == {"legal minimum", "loss of pressure", "contaminated air"}
    assert cases["loss of pressure"]["margin_litres"] < 0 < cases["legal minimum"]["margin_litres"]
    for case in cases.values():
        for group in ("crew_litres", "passenger_litres"):
            assert case[group] == pytest.approx(sum(each[group] for each in case["phases"]))
    # Twenty minutes at the invented handbook's 13.2 l/min.
    assert cases["contaminated air"]["crew_litres"] == pytest.approx(264.0)
    (system,) = answer["systems"]
    assert system["gauge_needed_psi"] > system["gauge_psi"] == 750
    # 8,000 ft wants 6.747 psi at FL310 (derived from the standard atmosphere).
    margin = answer["cabin"]["margins"][0]
    assert margin["differential_psi"] == pytest.approx(6.747, abs=0.0005)
    assert [each["limit_ft"] for each in answer["cabin"]["margins"]] == [
        8000,
        10000,
        12500,
        14000,
        15000,
    ]
    assert answer["useful_consciousness"]["useful_s"] == 15
    assert demo.seals() == before
    screen = demo.ok(*words).out
    assert all(len(line) <= 80 for line in screen.splitlines())
    assert "enough for FL" in screen


def test_oxygen_need_of_what_is_not_on_record(small: Cli) -> None:
    """The need is counted by the certification rules; what is on board is not known."""
    answer = small.ok("oxygen", "need", REG, "--level", "310", "--people", "1+2", "--json").json
    assert answer["systems"] == []
    assert answer["highest_level"] is None
    assert answer["cases"][0]["margin_litres"] is None
    assert answer["cabin"] is None
    assert "no oxygen reading on record" in small.ok("oxygen", "need", REG).out


FIT = (
    *("oxygen", "fit", REG, "--serves", "crew,passengers", "--fitted-on", "2023-02-03"),
    *("--service-psi", "1850", "--unusable-psi", "200", "--water-litres", "11.5"),
    *("--crew-masks", "2", "--passenger-masks", "4", "--crew-delivery", "demand"),
    *("--crew-modes", "normal,100-percent", "--crew-reserve-litres", "150"),
)


def test_oxygen_need_says_how_sure_it_is(small: Cli) -> None:
    """No reading, a flow that is only the least, a table that stops short: each is said."""
    small.ok(*FIT)
    words = ("oxygen", "need", REG, "--level", "310", "--people", "1+2", "--differential", "6.2")
    out = small.ok(*words).out
    assert "no reading of the gauge on record" in out
    assert "only the least that certification asks" in out
    assert "the time to don the pilot's mask is not on record" in out
    small.ok("oxygen", "reading", REG, "--gauge-psi", "1700", "--cylinder-c", "15")
    out = small.ok(*words).out
    assert "150 l are kept back for the crew" in out
    assert "enough for FL150" in out
    # Its cabin is taken as unpressurised unless something says what it holds.
    assert "enough for FL125" in small.ok(*words[:-2]).out
    assert small.ok(*words, "--json").json["may_be_too_low"] is True
    assert "not used: no hold needs oxygen" in out
    none = ("--flow-reference", "handbook", "--passenger-flow", "80:0,250:3000")
    small.ok(*FIT, *none, "--donning-s", "5")
    answer = small.ok(*words, "--json").json
    assert answer["problem"].endswith("0 up to 8,000 ft is no supply")
    assert answer["highest_level"] == 150
    flows = ("--flow-reference", "handbook", "--passenger-flow", "80:1000,250:3000")
    small.ok(*FIT, *flows, "--donning-s", "5")
    out = small.ok(*words).out
    assert "not known: no oxygen flow at 31,000 ft for passengers" in " ".join(out.split())
    assert "not to be told, or more than full" in " ".join(out.split())
    answer = small.ok(*words, "--json").json
    assert answer["cases"] == []
    assert answer["problem"].startswith("no oxygen flow at 31,000 ft")
    assert answer["highest_level"] == 250


def test_oxygen_need_says_who_is_not_counted(small: Cli) -> None:
    """Passengers without a system of theirs are named, not silently left out."""
    crew = [word for word in FIT if word not in ("--passenger-masks", "4")]
    crew = [word for word in crew if word not in ("--crew-reserve-litres", "150")]
    small.ok(*("crew" if word == "crew,passengers" else word for word in crew))
    small.ok("oxygen", "reading", REG, "--gauge-psi", "1700", "--cylinder-c", "15")
    words = ("oxygen", "need", REG, "--level", "310", "--people", "1+2", "--differential", "6.2")
    assert "No oxygen system for the passengers is on record" in small.ok(*words).out
    assert small.ok(*words, "--json").json["unserved"] == ["passengers"]


def test_oxygen_need_below_the_hold_is_refused(
    demo: Cli, check_one_line: Callable[[Ran, int], None]
) -> None:
    """FL130 with a hold at FL140."""
    words = ("--level", "130", "--hold-level", "140", "--hold-minutes", "5")
    check_one_line(demo("oxygen", "need", FULL, "--at", AT, *words), 2)


def test_an_oxygen_system_and_a_reading_make_the_level(small: Cli) -> None:
    """Recorded by command; the reading is of this moment when no other is said."""
    small.ok(*FIT)

    def outcome() -> str:
        answer = small("gonogo", REG, "--level", "310", "--people", "1+0", "--json").json
        by_rule = {each["rule"]: each["outcome"] for each in answer["findings"]}
        return str(by_rule["oxygen-not-on-record"])

    assert outcome() == "not on record"
    small.ok("oxygen", "reading", REG, "--gauge-psi", "1720", "--cylinder-c", "-14")
    assert outcome() == "met"


def test_levels_lists_best_first_with_what_excludes_the_others(demo: Cli) -> None:
    """A track of 326 takes even levels; the oxygen leaves FL260 at the best."""
    ran = demo("levels", LOW, "--at", AT, "--pilot", "IVO", "--route", "RIDGE", "--json")
    answer = ran.json
    assert ran.status == 0
    usable = [each["level"] for each in answer["levels"] if each["usable"]]
    assert usable == sorted(usable, reverse=True)
    assert answer["best"] == usable[0]
    assert all(level % 20 == 0 for level in usable)
    excluded = {
        each["level"]: [finding["rule"] for finding in each["excluded_by"]]
        for each in answer["levels"]
        if not each["usable"] and not each["other_half"]
    }
    assert excluded[300] == ["oxygen-too-little"]
    assert excluded[320] == ["level-above-certificated"]
    assert excluded[120] == ["level-below-hold"]
    assert answer["flight_plan"]["item_15"] == f"F{answer['best']:03d}"
    checked = demo(*ask(LOW, "--route", "RIDGE"), "--level", str(answer["best"]))
    assert checked.status == 0


def test_levels_on_the_screen(demo: Cli) -> None:
    """With W and REG/ where RVSM may be flown; the split is named as assumed."""
    ran = demo("levels", FULL, "--at", AT, "--pilot", "IVO", "--track", "131", "--people", "1+3")
    assert ran.status == 0
    for says in ("track 131: file FL310", "the authority's own", "item 15: F310", "REG/QXALD"):
        assert says in ran.out
    assert all(len(line) <= 80 for line in ran.out.splitlines())
    northern = demo(
        *("levels", FULL, "--at", AT, "--pilot", "IVO", "--track", "131", "--split", "270-089")
    )
    assert "file FL300" in northern.out


def test_levels_without_a_track_and_without_a_usable_level(
    demo: Cli, small: Cli, check_one_line: Callable[[Ran, int], None]
) -> None:
    """The one is bad usage, the other a plain answer."""
    check_one_line(demo("levels", FULL, "--at", AT), 2)
    ran = small("levels", REG, "--track", "90")
    assert (ran.status, ran.err) == (1, "")
    assert "no level of this track may be filed" in ran.out


def test_a_deviation_is_sorted_when_it_is_recorded(small: Cli) -> None:
    """With the sort, the due time where the rules set one, and how to write the report."""
    words = ("deviation", "report", REG, "--occurred-at", "2024-05-01T10:00Z", "--aad-ft", "320")
    out = small.ok(*words, "--description", "overshoot").out
    assert "to be reported: assigned altitude deviation (AAD)" in out
    assert "sets no time for the report" in out
    assert "rvsmlog deviation close" in out
    small_one = small.ok(*words[:-1], "200", "--description", "gust", "--json").json
    assert small_one["report"]["reportable"] is False
    assert small_one["aad_ft"] == 200


def test_the_report_as_text_and_as_json(
    demo: Cli, check_one_line: Callable[[Ran, int], None]
) -> None:
    """72 hours in the European Union; corrected entries are found by either number."""
    words = ("--occurred-at", "2026-11-23T02:00Z", "--aad-ft", "-310", "--cause", "acas")
    entry = demo.ok(
        *("deviation", "report", "QX-CYR", *words, "--description", "resolution advisory"), "--json"
    ).json["entry"]
    answer = demo.ok("deviation", "text", "QX-CYR", str(entry), "--json").json
    seal = answer["seal"]
    printed = f"{seal['logbook']}#{seal['entry']} {seal['digest'][:32]}"
    demo.ok("store", "verify", "--seal", printed.replace(" ", ":"))
    assert answer["due_at"] == "2026-11-26T02:00:00Z"
    assert answer["sorts"] == [
        {"sort": "aad", "size_ft": -310, "limit_ft": 300, "reportable": True}
    ]
    assert answer["fields"]["above or below"] == "below"
    text = demo.ok("deviation", "text", "QX-CYR", f"#{entry}").out
    assert printed in " ".join(text.split())
    assert "cause:                              acas" in text
    assert "Not closed" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    demo.ok(
        *("deviation", "report", "QX-CYR", *words, "--description", "resolution advisory"),
        *("--unit", "QXXX", "--corrects", str(entry), "--reason", "unit known now"),
    )
    assert "QXXX" in demo.ok("deviation", "text", "QX-CYR", str(entry)).out
    demo.ok(
        *("deviation", "close", "QX-CYR", str(entry), "--closed-on", "2026-11-24"),
        *("--conclusion", "advisory followed", "--confirmed-by", "M. Olquist"),
    )
    assert "Not closed" not in demo.ok("deviation", "text", "QX-CYR", str(entry)).out
    check_one_line(demo("deviation", "text", "QX-CYR", "1"), 2)


def test_oxygen_need_counts_the_mask_that_is_worn(small: Cli) -> None:
    """At FL370 one pilot wears a mask for an hour, on the screen and as JSON.

    ICAO's standard atmosphere: 9 psi at FL350 hold 859.0 hPa, dry 597.3 mmHg; at 8,000 ft, where
    the handbook begins with 1.9 l/min, there are 752.6 hPa, dry 517.5. 60 x 1.9 x 597.3 / 517.5.
    """
    other = "QX-HIJ"
    small.ok(
        *("airframe", "add", "--registration", other, "--type-designator", "VK71"),
        *("--serial-number", "1099", "--authority", "us-91", "--rvsm-basis", "group"),
        *("--type-certificate", "after-1997-04-09", "--highest-level", "410"),
    )
    flows = ("--flow-reference", "handbook", "--crew-full-flow", "80:9000,410:2000")
    normal = ("--crew-normal-flow", "80:1900,410:3600")
    fit = (*FIT[:2], other, *FIT[3:-2])
    small.ok(*fit, *flows, *normal, "--in-use-c", "0")
    small.ok("oxygen", "reading", other, "--gauge-psi", "1700", "--cylinder-c", "15")
    asked = ("oxygen", "need", other, "--people", "1+0", "--differential", "9")
    words = (*asked, "--level", "370", "--cruise-minutes", "60")
    cases = {each["case"]: each for each in small.ok(*words, "--json").json["cases"]}
    worn = cases["legal minimum"]["phases"][0]
    assert (worn["phase"], worn["minutes"]) == ("mask worn by one pilot", 60)
    assert worn["crew_litres"] == pytest.approx(131.6, abs=0.1)
    # Ten minutes at 9 l/min, the greatest flow between 10,000 ft and FL370, are not exceeded.
    assert worn["crew_litres"] < cases["legal minimum"]["crew_litres"] < worn["crew_litres"] + 90.0
    for case in ("legal minimum", "loss of pressure"):
        phases = cases[case]["phases"]
        assert cases[case]["crew_litres"] == pytest.approx(sum(p["crew_litres"] for p in phases))
    screen = small.ok(*words).out
    assert all(len(line) <= 80 for line in screen.splitlines())
    assert screen.count("mask worn by one pilot") == 3
    assert "mask worn by one pilot at FL370, what comes after kept" in screen
    assert "above FL350 one pilot wears a mask for all minutes" in " ".join(screen.split())
    assert "enough for FL410" in screen
    assert "mask worn" not in small.ok(*asked, "--level", "350", "--cruise-minutes", "60").out
    # A day of it is not there.
    assert "enough for FL350" in small.ok(*asked, "--level", "370").out


@pytest.mark.parametrize(("registration", "verdict"), [(FULL, "GO"), (LOW, "NO-GO")])
def test_the_sheet_in_json_is_the_check_that_it_rests_on(
    demo: Cli, registration: str, verdict: str
) -> None:
    """The page is written, the answer is that of the check, and nothing is recorded."""
    page = demo.store.with_name("sheet.html")
    about = (registration, "--level", "310", "--pilot", "IVO", "--at", AT, "--route", "RIDGE")
    sheet = ("crosscheck", "sheet", *about, "--out", str(page))
    before = demo.seals()
    answer = demo.ok(*sheet, "--json")
    assert demo.seals() == before
    assert f"{registration}  {verdict} at FL310" in demo.ok(*sheet).out
    assert "<html" in page.read_text("utf-8")
    checked = demo("gonogo", *about, "--dry-run", "--json").json
    assert answer.json == checked
    assert checked["verdict"] == verdict

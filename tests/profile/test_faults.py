"""What is wrong with a profile is said in one line each: file, step, key, what was found, what would be right."""

from pathlib import Path
from time import perf_counter

import pytest

from curetrack.errors import Faults
from curetrack.profile.load import compile_profile, load_document
from tests.profile.docs import SMALL, compiled, small

# (what stands in SMALL, what takes its place, the whole line expected)
BROKEN = {
    "unknown key at the top": (
        'cast = "face-down"',
        'cast = "face-down"\nsumary = "x"',
        "sumary: unknown key; did you mean summary?",
    ),
    "unknown key of a step": (
        'lead = "2 h"',
        'leed = "2 h"',
        "step form: leed: unknown key; did you mean lead?",
    ),
    "unknown rule": (
        'strength = "3.5 MPa", maturity',
        'strenght = "3.5 MPa", maturity',
        "step strip: not_before.strenght: unknown key; did you mean strength?",
    ),
    "unknown key three deep": (
        'for = "12 h" }',
        'during = "12 h" }',
        "step seal: not_before.air.during: unknown key; known: from, to, for",
    ),
    "unknown key of the mix": (
        'density = "2240 kg/m3"',
        'density = "2240 kg/m3"\ndensity_lfit = "2350 kg/m3"',
        "mix.density_lfit: unknown key; did you mean density_lift?",
    ),
    "unknown key of a law": (
        'rate = "0.25 /day", start = "7 h"',
        'rate = "0.25 /day", start = "7 h", s = 0.25',
        "mix.growth.s: unknown key; known: law, rate, start",
    ),
    "wrong unit": (
        'strength = "3.5 MPa", maturity',
        'strength = "3.5 h", maturity',
        "step strip: not_before.strength: a strength is wanted, not a time, found '3.5 h'; use MPa, psi,"
        " ksi, GPa, kPa, Pa",
    ),
    "no unit": (
        'lead = "2 h"',
        'lead = "2"',
        "step form: lead: a time without a unit, found '2'; use min, h, d, week, s",
    ),
    "number without quotes": (
        'lead = "2 h"',
        "lead = 2",
        'step form: lead: a quantity in quotes with its unit is wanted, found 2; write it like "18 h"',
    ),
    "decimal comma": (
        'strength = "3.5 MPa", maturity',
        'strength = "3,5 MPa", maturity',
        "step strip: not_before.strength: a decimal comma, found '3,5 MPa'; write 3.5",
    ),
    "negative strength": (
        'strength_28d = "27 MPa"',
        'strength_28d = "-27 MPa"',
        "mix.strength_28d: a strength cannot be negative, found '-27 MPa'; write it like 3.5 MPa",
    ),
    "impossible strength": (
        'strength_28d = "27 MPa"',
        'strength_28d = "2700 MPa"',
        "mix.strength_28d: not plausible, found '2700 MPa'; use 1 to 200 MPa",
    ),
    "negative time": (
        'not_before = { wait = "7 d" }',
        'not_before = { wait = "-7 d" }',
        "step use: not_before.wait: not plausible, found '-7 d'; use 0 to 43830 h",
    ),
    "impossible temperature": (
        'from = "10 degC"',
        'from = "100 degC"',
        "step seal: not_before.air.from: not plausible, found '100 degC'; use -30 to 60 degC",
    ),
    "window upside down": (
        'from = "10 degC", to = "32 degC"',
        'from = "32 degC", to = "10 degC"',
        "step seal: not_before.air: from is not below to, found 32 to 10 degC; swap or widen them",
    ),
    "recoat window upside down": (
        'from = "1 h", to = "4 h"',
        'from = "4 h", to = "1 h"',
        "step seal: recoat: the window closes before it opens, found 4 h to 1 h",
    ),
    "sets in the wrong order": (
        'final_set = "7 h"',
        'final_set = "3 h"',
        "mix: initial_set is not before final_set, found 4 h and 3 h; final set comes later",
    ),
    "unknown kind": (
        'kind = "cover"',
        'kind = "covver"',
        "step cover: kind: not a choice here, found 'covver'; did you mean cover? one of form, place, wet,"
        " cover, lift, grind, fill, dry, coat, rest",
    ),
    "unknown cast": (
        'cast = "face-down"',
        'cast = "down"',
        "cast: not a choice here, found 'down'; did you mean face-down? one of face-down, face-up, in-place",
    ),
    "unknown law": (
        'law = "arrhenius", q = "5000 K"',
        'law = "arhenius", q = "5000 K"',
        "mix.maturity.law: not a choice here, found 'arhenius'; did you mean arrhenius? one of arrhenius,"
        " nurse-saul, en1992, cold-side",
    ),
    "law without its key": (
        'rate = "0.25 /day", start = "7 h"',
        'rate = "0.25 /day"',
        "mix.growth.start: missing; add start = ...",
    ),
    "q and energy": (
        'q = "5000 K"',
        'q = "5000 K", energy = "40 kJ/mol"',
        'mix.maturity: arrhenius takes q or energy, one of them; write q = "5000 K" or energy = "40 kJ/mol"',
    ),
    "unknown caution": (
        'kind = "cover"',
        'kind = "cover"\ncautions = ["dusty"]',
        "step cover: cautions: not a choice here, found 'dusty'; did you mean dust? one of dust, alkali,"
        " eyes, shock, lift, noise, hav, fumes, fire, vapour, hot, acid, slip",
    ),
    "unknown predecessor": (
        'after = "strip"',
        'after = "stripp"',
        "step slurry: after: no such step, found 'stripp'; did you mean strip?",
    ),
    "unknown follower": (
        'before = "pour"',
        'before = "por"',
        "step form: before: no such step, found 'por'; did you mean pour?",
    ),
    "unknown material": (
        'of = "slurry", since',
        'of = "slury", since',
        "step sand: not_before.hardening.of: no such material, found 'slury'; did you mean slurry?",
    ),
    "unknown step to count from": (
        'since = "slurry"',
        'since = "fill"',
        "step sand: not_before.hardening.since: no such step, found 'fill'; known: cover, form, pour,"
        " sand, seal, slurry, strip, use",
    ),
    "waits for itself": (
        'after = "strip"',
        'after = "slurry"',
        "step slurry: after: a step cannot wait for itself, found 'slurry'; name another step",
    ),
    "a circle": (
        'title = "Strip the sides"\nafter = "cover"',
        'title = "Strip the sides"\nafter = ["cover", "sand"]',
        "step strip: after: a circle among the steps, found strip after sand after slurry after strip;"
        " take one after, before or during away",
    ),
    "a duplicate id": (
        'id = "slurry"',
        'id = "strip"',
        "step 4: id: an id that is there already, found 'strip'; each step needs its own",
    ),
    "not an id": (
        'id = "use"',
        'id = "Use it"',
        "step 7: id: not an id, found 'Use it'; use lower case letters, digits and single dashes, at most"
        " 40, like seal-top",
    ),
    "a taken id": (
        'id = "use"',
        'id = "hardness"',
        "step hardness: id: this id is taken, found 'hardness'; it names the hand check after a frost; choose another",
    ),
    "an id that coats make": (
        'id = "use"',
        'id = "seal-2"',
        "step seal-2: id: this id is made from the step seal, found 'seal-2'; choose another",
    ),
    "no title": (
        'title = "Cover it"\n',
        "",
        "step cover: title: missing; add title = ...",
    ),
    "no id": (
        'id = "cover"\n',
        "",
        "step 2: id: missing; add id = ...",
    ),
    "no mix": (
        "[mix]",
        "[material.mix]",
        "mix: missing; add mix = ...",
    ),
    "nothing before, after or during": (
        'title = "Fill it"\nafter = "strip"\n',
        'title = "Fill it"\n',
        'step slurry: none of after, before, during; add after = "pour", or another step\'s id',
    ),
    "lead without before": (
        'before = "pour"',
        'after = "pour"',
        "step form: lead: needs before beside it; add it, or leave lead out",
    ),
    "every without during": (
        'kind = "cover"',
        'kind = "cover"\nevery = "4 h"',
        "step cover: every: needs during beside it; add it, or leave every out",
    ),
    "during without an end": (
        'kind = "cover"',
        'kind = "cover"\nduring = "form"\nevery = "4 h"',
        "step cover: during: one id, and no end, found 'form'; add until = { maturity = \"72 h\" }, or a second id",
    ),
    "with_check without a check": (
        'check = "A thumbnail leaves no mark."\n',
        "",
        "step sand: with_check: needs check beside it; add it, or leave with_check out",
    ),
    "hold = check without a check": (
        'kind = "cover"',
        'kind = "cover"\nhold = "check"',
        'step cover: hold: "check" without a check; say in check what is looked at or felt',
    ),
    "hold as text": (
        "hold = true",
        'hold = "yes"',
        'step strip: hold: true, false or "check" is wanted, found \'yes\'; "check": only a passed hand'
        " check ever opens it",
    ),
    "coats and grits": (
        "coats = 2",
        "coats = 2\ngrits = [120, 220]",
        "step seal: coats: does not go with grits; make two steps of it",
    ),
    "no coat": (
        "coats = 2",
        "coats = 0",
        "step seal: coats: not plausible, found 0; use 1 to 20",
    ),
    "a grit as text": (
        "grit = 120",
        'grit = "P120"',
        "step sand: grit: a whole number is wanted, found 'P120'; use 8 to 20000, without quotes",
    ),
    "each without a neighbour": (
        'kind = "cover"',
        'kind = "cover"\neach = true',
        "step cover: each: no neighbour with coats or grits; name in before (or after) a step with coats or grits",
    ),
    "again to where it does not come from": (
        "grit = 120",
        'grit = 120\nagain = "form"',
        "step sand: again: no way from there to here, found 'form'; again names a step that this one"
        " follows, after the pour",
    ),
    "strength before the pour": (
        'lead = "2 h"',
        'lead = "2 h"\nnot_before = { strength = "3 MPa" }',
        "step form: not_before.strength: counts from the pour, and this step comes before it; use lead, or"
        " air and slab, for what is done before the pour",
    ),
    "wait that counts from nothing": (
        'lead = "2 h"',
        'lead = "2 h"\nnot_before = { wait = "2 h" }',
        "step form: not_before.wait: counts from `after`, which is not there; add after",
    ),
    "crew of none": (
        'kind = "cover"',
        'kind = "cover"\ncrew = 0',
        "step cover: crew: not plausible, found 0; use 1 to 12 people",
    ),
    "crew in words": (
        'kind = "cover"',
        'kind = "cover"\ncrew = "four"',
        "step cover: crew: a number of people, flip or carry is wanted, found 'four'; write 2, or \"flip\""
        " to have it from the weight",
    ),
    "hands for each kilo": (
        'kind = "cover"',
        'kind = "cover"\nhands_on = "5 min/kg"',
        'step cover: hands_on: not a time for the hands, found \'5 min/kg\'; write it like "30 min", "20'
        ' min/m2", "10 min/m" or "10 min/bag"',
    ),
    "a list where a table is wanted": (
        'not_before = { wait = "7 d" }',
        'not_before = ["7 d"]',
        "step use: not_before: a table is wanted, found a list of 1; write { wait = ... }",
    ),
    "a number where text is wanted": (
        'title = "Use it"',
        "title = 12",
        "step use: title: text in quotes is wanted, found 12",
    ),
    "a date where a time is wanted": (
        'lead = "2 h"',
        "lead = 2026-01-10",
        'step form: lead: a quantity in quotes with its unit is wanted, found a date; write it like "18 h"',
    ),
    "a list where steps are wanted": (
        SMALL[SMALL.index("[[step]]") :],
        "[step]\nid = 'x'\n",
        "step: a list of 1 to 300 steps is wanted, found a table; write [[step]]",
    ),
    "not a number": (
        'growth = { law = "hyperbola", rate = "0.25 /day", start = "7 h" }',
        'growth = { law = "en1992", s = nan }',
        "mix.growth.s: not plausible, found nan; use 0.1 to 0.6",
    ),
    "nan with a unit": (
        'lead = "2 h"',
        'lead = "nan h"',
        "step form: lead: cannot read a time, found 'nan h'; write it like 18 h",
    ),
    "a huge number": (
        "grit = 120",
        "grit = 1" + "0" * 400,
        "step sand: grit: not plausible, found a huge number; use 8 to 20000",
    ),
    "a huge quantity": (
        'lead = "2 h"',
        'lead = "' + "9" * 41 + ' h"',
        "step form: lead: a time is too large, found '" + "9" * 41 + " h'; write it like 18 h",
    ),
    "an endless quantity": (
        'lead = "2 h"',
        'lead = "' + "1" * 5000 + ' h"',
        "step form: lead: a time is too long to read, found '11111111111111111111...'; write it like 18 h",
    ),
    "an escape sequence": (
        'title = "Use it"',
        'title = "Use \\u001b[31mit"',
        "step use: title: a control character or line break, found 'Use \\x1b[31mit'; write one line of plain text",
    ),
    "text that turns around": (
        'title = "Use it"',
        'title = "Use \\u202eti"',
        "step use: title: a control character or line break, found 'Use \\u202eti'; write one line of plain text",
    ),
    "text without end": (
        'title = "Use it"',
        'title = "' + "long " * 30 + '"',
        "step use: title: too long, 149 characters, found 'long long long long ...'; use at most 120",
    ),
    "empty text": (
        'title = "Use it"',
        'title = "  "',
        "step use: title: empty text; write something, or leave the key out",
    ),
    "another format": (
        "format = 1",
        "format = 2",
        "format: a format this program does not know, found 2; it reads format 1",
    ),
    "a key of the wrong kind in a case": (
        "grit = 120",
        'grit = 120\n[[step.if]]\ncutout = "no"\noptional = true',
        "step sand: if 1: cutout: true or false is wanted, found 'no'; write it without quotes",
    ),
    "a case without a condition": (
        "grit = 120",
        "grit = 120\n[[step.if]]\noptional = true",
        "step sand: if 1: a case without a condition; add one of cutout, rail_under, length_over, air_over",
    ),
    "a wrong unit in a case": (
        "grit = 120",
        'grit = 120\n[[step.if]]\nrail_under = "100 kg"\noptional = true',
        "step sand: if 1: rail_under: a length is wanted, not a mass, found '100 kg'; use mm, cm, m, in, ft, yd",
    ),
    "an unknown step in a case": (
        "grit = 120",
        'grit = 120\n[[step.if]]\ncutout = true\nafter = "slury"',
        "step sand: if 1: after: no such step, found 'slury'; did you mean slurry?",
    ),
    "a falling growth table": (
        'growth = { law = "hyperbola", rate = "0.25 /day", start = "7 h" }',
        'growth = { law = "table", points = [["24 h", "5 MPa"], ["72 h", "4 MPa"]] }',
        "mix: strengths of a growth table must not fall, found '5 MPa, then 4 MPa'",
    ),
    "a bag that does not fit": (
        'density = "2240 kg/m3"',
        'density = "2240 kg/m3"\nbag = { mass = "80 lb", yield = "6 ft3" }',
        "mix.bag: mass and yield do not fit, found 214 kg/m3; concrete is 300 to 6000 kg/m3",
    ),
    "water upside down": (
        'density = "2240 kg/m3"',
        'density = "2240 kg/m3"\nbag = { mass = "80 lb", yield = "0.6 ft3", water = ["4 L", "3 L"] }',
        'mix.bag.water: the least is above the most, found 4 to 3 kg; write it like ["2.8 kg", "4.3 kg"]',
    ),
}


@pytest.mark.parametrize("name", BROKEN)
def test_each_fault_is_one_line_with_place_value_and_remedy(name: str) -> None:
    old, new, expected = BROKEN[name]
    assert SMALL.count(old) >= 1
    with pytest.raises(Faults) as caught:
        compiled(SMALL.replace(old, new, 1))
    assert f"test.toml: {expected}" in caught.value.faults


def test_the_small_document_itself_is_sound() -> None:
    assert compiled(SMALL).step("strip") is not None


def test_all_faults_come_at_once() -> None:
    text = (
        SMALL.replace('lead = "2 h"', 'leed = "2 h"')
        .replace('"27 MPa"', '"27 m"')
        .replace('"slurry", since', '"x", since')
    )
    with pytest.raises(Faults) as caught:
        compiled(text)
    assert len(caught.value.faults) == 3
    assert str(caught.value) == "\n".join(caught.value.faults)


def test_a_step_that_cannot_be_read_is_still_known_to_others() -> None:
    with pytest.raises(Faults) as caught:
        compiled(SMALL.replace('title = "Strip the sides"', "title = 1"))
    assert len(caught.value.faults) == 1


def test_very_many_faults_are_counted_not_listed() -> None:
    doc = small()
    doc["step"] = [{"id": f"s{n}", "title": "x", "after": "pour", "colour": 1} for n in range(250)]
    with pytest.raises(Faults) as caught:
        compile_profile(doc, "test")
    assert len(caught.value.faults) == 101
    assert caught.value.faults[-1] == "test: and 150 faults more"


TOML_FAULTS = {
    "no quote at the end": (b'name = "x\nformat = 1\n', "p.toml: line 1, column 10: not TOML: Illegal character"),
    "a key twice": (b"format = 1\nformat = 1\n", "p.toml: line 2, column 11: not TOML: Cannot overwrite a value"),
    "cut off": (b"format = 1\nname = [1,", "p.toml: line 2, the end: not TOML: "),
    "not UTF-8": (b'format = 1\nname = "caf\xe9"\n', "p.toml: line 2: not UTF-8 text, found byte 0xe9; save the file"),
    "nested without end": (b"a = " + b"[" * 100_000, "p.toml: nested too deep; "),
    "digits without end": (b"a = " + b"9" * 5000, "p.toml: a number that is too long to read"),
    "too large": (b"# " + b"x" * 300_000, "p.toml: too large for a profile; use at most 256 kB"),
}


def test_thousands_of_faults_take_no_longer_than_a_moment() -> None:
    """250 kB of unknown keys and names, each of which could be compared with all the known ones."""
    doc = small()
    doc["step"] = [{"id": f"s{n}", "title": "x", "after": [f"t{k}" for k in range(20)]} for n in range(300)]
    doc |= {f"summery-{n}": n for n in range(20_000)}
    start = perf_counter()
    with pytest.raises(Faults):
        compile_profile(doc, "test")
    assert perf_counter() - start < 5.0  # 0.3 s here; comparing all of them takes minutes


@pytest.mark.parametrize("name", TOML_FAULTS)
def test_a_file_that_is_no_toml_says_where(name: str, tmp_path: Path) -> None:
    content, expected = TOML_FAULTS[name]
    path = tmp_path / "p.toml"
    path.write_bytes(content)
    with pytest.raises(Faults) as caught:
        load_document(path)
    assert caught.value.faults[0].startswith(expected)


def test_a_missing_file_and_a_folder_are_said(tmp_path: Path) -> None:
    for path in (tmp_path / "none.toml", tmp_path):
        with pytest.raises(Faults, match="cannot be read"):
            load_document(path)


def test_an_empty_file_lacks_everything(tmp_path: Path) -> None:
    path = tmp_path / "empty.toml"
    path.write_bytes(b"")
    with pytest.raises(Faults) as caught:
        compile_profile(load_document(path), "empty", "empty.toml")
    assert caught.value.faults == tuple(
        f"empty.toml: {key}: missing; add {key} = ..." for key in ("format", "name", "cast", "mix", "step")
    )


def test_a_byte_order_mark_and_windows_line_ends_are_taken(tmp_path: Path) -> None:
    path = tmp_path / "windows.toml"
    path.write_bytes(b"\xef\xbb\xbf" + SMALL.replace("\n", "\r\n").encode())
    assert compile_profile(load_document(path), "windows").name == "Small"


@pytest.mark.parametrize("document", [None, 3, "text", [], [{}], {1: 2}, {"step": 3}, {"material": []}])
def test_what_is_no_document_is_refused(document: object) -> None:
    with pytest.raises(Faults):
        compile_profile(document, "test")

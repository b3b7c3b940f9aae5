"""A profile that builds on others: what comes of it, and what is said when it is built wrongly."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from curetrack.errors import BadInput, Faults
from curetrack.ledger.snapshots import body_of, sha_of
from curetrack.profile.build import MOST_FILES, built
from curetrack.profile.folders import parts, shipped
from curetrack.profile.load import apply_overrides, compile_profile, load_document
from curetrack.profile.shelf import find, found
from curetrack.profile.whole import whole_text
from tests.profile.docs import SMALL, document

Files = Callable[..., Path]
HEAD = 'format = 1\nname = "Mine"\n'


@pytest.fixture
def files(tmp_path: Path) -> Files:
    """Writes base.toml (the small profile), further files by name, and mine.toml; gives the last."""

    def write(mine: str, **others: str) -> Path:
        for name, text in {"base": SMALL, **others, "mine": mine}.items():
            (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
        return tmp_path / "mine.toml"

    return write


def steps(made: dict[str, Any]) -> dict[str, Any]:
    return {step["id"]: step for step in made["step"]}


def faults_of(path: Path) -> tuple[str, ...]:
    with pytest.raises(Faults) as caught:
        found(str(path)).compiled()
    return caught.value.faults


# --- what comes of it ------------------------------------------------------------------------------------------------


def test_it_says_what_its_base_says_under_its_own_name(files: Files) -> None:
    made = load_document(files(HEAD + 'build_on = "base.toml"\n'))
    base = load_document(SMALL)
    assert made == {**{key: item for key, item in base.items() if key != "summary"}, "name": "Mine"}


def test_keys_of_mix_steps_rules_and_limits_are_replaced_one_by_one(files: Files) -> None:
    made = load_document(
        files(
            HEAD
            + """build_on = "base.toml"
cast = "face-up"
[mix]
strength_28d = "40 MPa"
growth = { law = "en1992", s = 0.2 }
[material.slurry]
maturity = { law = "cold-side" }
[change.strip]
not_before = { strength = "5 MPa" }
no_later = { maturity = "36 h" }
title = "Strip it"
[change.sand]
not_before = { hardening = "20 h" }
"""
        )
    )
    assert made["cast"] == "face-up"
    assert (made["mix"]["strength_28d"], made["mix"]["initial_set"]) == ("40 MPa", "4 h")
    assert made["mix"]["growth"] == {"law": "en1992", "s": 0.2}  # a law is taken whole
    assert made["material"] == {"slurry": {"maturity": {"law": "cold-side"}}}
    strip, sand = steps(made)["strip"], steps(made)["sand"]
    assert strip["not_before"] == {"strength": "5 MPa", "maturity": "18 h"}
    assert strip["no_later"] == {"maturity": "36 h", "else": "Take care."}
    assert (strip["title"], strip["hold"]) == ("Strip it", True)
    assert sand["not_before"]["hardening"] == {"time": "20 h", "of": "slurry", "since": "slurry"}
    compile_profile(made, "mine")


def test_a_key_is_left_out_before_the_others_are_replaced(files: Files) -> None:
    made = load_document(
        files(
            HEAD
            + """build_on = "base.toml"
[change.strip]
leave_out = ["not_before.strength", "not_before.maturity", "no_later"]
not_before = { age = "3 h" }
[change.slurry]
leave_out = "leaves"
"""
        )
    )
    assert steps(made)["strip"]["not_before"] == {"age": "3 h"}
    assert "no_later" not in steps(made)["strip"]
    assert "leaves" not in steps(made)["slurry"]


def test_a_step_left_out_is_gone_and_another_may_take_its_place(files: Files) -> None:
    text = """build_on = "base.toml"
leave_out = ["form", "cover"]
[[step]]
id = "cover"
kind = "cover"
title = "Another cover"
after = "pour"
"""
    made = load_document(files(HEAD + text))
    assert list(steps(made)) == ["cover", "strip", "slurry", "sand", "seal", "use"]
    assert steps(made)["cover"]["title"] == "Another cover"


def test_a_new_step_stands_behind_what_it_follows_in_the_order_written(files: Files) -> None:
    made = load_document(
        files(
            HEAD
            + """build_on = "base.toml"
[[step]]
id = "one"
title = "One"
after = ["cover", "strip"]
[[step]]
id = "two"
title = "Two"
after = "strip"
[[step]]
id = "early"
title = "Early"
before = "cover"
[[step]]
id = "last"
title = "Last"
before = "pour"
"""
        )
    )
    order = ["form", "early", "cover", "strip", "one", "two", "slurry", "sand", "seal", "use", "last"]
    assert list(steps(made)) == order


def test_parts_follow_one_another_in_the_order_named(files: Files) -> None:
    body = SMALL[SMALL.index("[mix]") :]
    head, tail = body[: body.index('[[step]]\nid = "slurry"')], body[body.index('[[step]]\nid = "slurry"') :]
    path = files(
        HEAD + 'cast = "face-down"\nbuild_on = ["first.toml", "second.toml"]\n',
        first=f"format = 1\n{head}",
        second=f"format = 1\n{tail}",
    )
    assert load_document(path)["step"] == load_document(SMALL)["step"]


def test_a_profile_may_build_on_one_that_is_built(files: Files) -> None:
    path = files(
        HEAD + 'build_on = "middle.toml"\n[change.strip]\ntitle = "Twice changed"\n',
        middle=HEAD + 'build_on = "base.toml"\n[change.strip]\nhold = false\nfail = "Wait."\n',
    )
    strip = steps(load_document(path))["strip"]
    assert (strip["title"], strip["hold"], strip["fail"]) == ("Twice changed", False, "Wait.")


def test_what_ships_is_built_on_by_name(files: Files) -> None:
    made = load_document(files(HEAD + 'build_on = "bagged-tabletop"\n[mix]\nstrength_28d = "30 MPa"\n'))
    other = document("bagged-tabletop")
    assert made["step"] == other["step"]
    assert made["mix"] == {**other["mix"], "strength_28d": "30 MPa"}


def test_the_result_names_nothing_that_could_change(files: Files) -> None:
    """The snapshot of a piece is the whole document: the base may go, and nothing moves."""
    path = files(HEAD + 'build_on = "base.toml"\n')
    _, made = find(str(path))
    sha = sha_of(body_of(made))
    (path.parent / "base.toml").unlink()
    assert not {"build_on", "leave_out", "change"} & made.keys()
    assert sha_of(body_of(made)) == sha
    assert compile_profile(made, "mine").step("strip") is not None
    assert steps(apply_overrides(made, [("strip.title", "x")]))["strip"]["title"] == "x"


def test_a_profile_on_its_own_is_left_as_it_is() -> None:
    assert built(SMALL).origins == {}
    assert built("").document == {}


@pytest.mark.parametrize("profile_id", [name for name, _ in shipped()])
def test_written_out_whole_it_says_the_same(profile_id: str) -> None:
    text = whole_text(found(profile_id).built)
    assert "build_on" not in text
    assert load_document(text) == document(profile_id)
    assert text.count("[[step]]") == len(document(profile_id)["step"])


def test_a_text_with_quotes_and_odd_letters_is_written_as_toml(files: Files) -> None:
    say = r'"A \"quote\", a back\\slash, 20 °C, \u007f"'
    whole = built(files(HEAD + f'build_on = "base.toml"\n[change.use]\nsay = {say}\nloud = true\n'))
    assert steps(whole.document)["use"]["say"] == 'A "quote", a back\\slash, 20 °C, \x7f'
    assert load_document(whole_text(whole)) == whole.document


# --- names -----------------------------------------------------------------------------------------------------------


def test_no_part_has_the_name_of_a_profile_and_none_is_a_profile() -> None:
    names = {name for name, _ in parts()}
    assert names
    assert not names & {name for name, _ in shipped()}
    for name in names:
        with pytest.raises(BadInput, match="a part of profiles, not a whole one"):
            find(name)


def test_every_part_is_used_by_a_profile_and_says_what_it_is() -> None:
    used = {source.label for name, _ in shipped() for source in found(name).built.sources[1:]}
    assert used >= {path.name for _, path in parts()}
    for _, path in parts():
        assert built(path).sources[0].document["summary"].endswith(".")


def test_no_step_is_written_twice_in_the_library() -> None:
    """What two profiles share stands in one part. Only two ways to finish, which no profile has both of, repeat how a
    fill is tried and covered: so each can be read from its top to its end."""
    seen: dict[str, str] = {}
    twice = []
    for name, path in [*shipped(), *parts()]:
        for step in built(path).sources[0].document.get("step", []):
            body = body_of(step)
            twice += [(step["id"], seen[body], name)] if body in seen else []
            seen[body] = name
    assert {step for step, _, _ in twice} <= {"colour-tile", "cover-slurry", "slurry"}
    assert all(name.startswith("finish-") for _, *both in twice for name in both)


# --- what is wrong ---------------------------------------------------------------------------------------------------

# what stands in mine.toml below HEAD, and the whole line expected
WRONG = {
    "an unknown name": (
        'build_on = "bagged-tabeltop"\n',
        "mine.toml: line 3: build_on: no such profile or part, found 'bagged-tabeltop'; did you mean bagged-tabletop?",
    ),
    "a file that is not there": (
        'build_on = "nowhere.toml"\n',
        "mine.toml: line 3: build_on: no such file, found 'nowhere.toml'; files are looked for beside mine.toml",
    ),
    "a folder": (
        'build_on = ["base.toml", "./"]\n',
        "mine.toml: line 3: build_on: a folder, no file, found './'; files are looked for beside mine.toml",
    ),
    "one of the names is none": (
        'build_on = ["base.toml", 3, ""]\n',
        'mine.toml: line 3: build_on: a name in quotes is wanted, found 3; write build_on = ["..."]',
    ),
    "a name twice": (
        'build_on = ["bagged-tabletop", "bagged-tabletop"]\n',
        "mine.toml: line 3: build_on: named twice, found 'bagged-tabletop'; name it once",
    ),
    "a step left out twice": (
        'build_on = "base.toml"\nleave_out = ["seal", "seal"]\n',
        "mine.toml: line 4: leave_out: named twice, found 'seal'; name it once",
    ),
    "a part that two of them bring": (
        'build_on = ["bagged-tabletop", "fast-polished"]\n',
        "mine.toml: line 3: build_on: built on twice, found form, by bagged-tabletop.toml and by fast-face-down.toml;"
        " build on one of them",
    ),
    "a file of one's own with the name of a part": (
        'build_on = ["form.toml", "form", "mix-bagged"]\n',
        "mine.toml: line 3: build_on: two of these say step weather, step form, step level and 7 more, found form.toml"
        " and form; build on one of them",
    ),
    "a key that is misspelled": (
        'build_om = "base.toml"\n',
        "mine.toml: build_om: unknown key; did you mean build_on?",
    ),
    "a key that is none": (
        "zzz = 1\n",
        "mine.toml: zzz: unknown key; known: format, name, summary, cast, mix, material, step, build_on, leave_out,"
        " change",
    ),
    "a change that is no table of keys": (
        'build_on = "base.toml"\n[change]\nstrip = 3\n',
        "mine.toml: line 5: change.strip: the keys of the step that differ are wanted, found 3; write them below it",
    ),
    "a key left out that is none": (
        'build_on = "base.toml"\n[change.strip]\nleave_out = ["hold", 3]\n',
        "mine.toml: line 4: change.strip: leave_out takes keys of the step, found 3; write it like leave_out ="
        ' ["not_before.drying", "fail"]',
    ),
    "not a name": (
        "build_on = 3\n",
        'mine.toml: line 3: build_on: a name or a list of names is wanted, found 3; write build_on = ["..."], or leave'
        " it out",
    ),
    "an empty list": (
        "build_on = []\n",
        "mine.toml: line 3: build_on: a name or a list of names is wanted, found an empty list; write"
        ' build_on = ["..."], or leave it out',
    ),
    "itself": (
        'build_on = "mine.toml"\n',
        "mine.toml: line 3: build_on: a circle of profiles, found mine.toml builds on mine.toml; take one build_on"
        " away",
    ),
    "the same base twice": (
        'build_on = ["base.toml", "./base.toml"]\n',
        "mine.toml: line 3: build_on: built on twice, found './base.toml'; name it once, here or in what else this"
        " builds on",
    ),
    "two that say the same": (
        'build_on = ["mix-bagged", "mix-high-early"]\n',
        "mine.toml: line 3: build_on: two of these say mix.strength_28d, mix.growth, mix.maturity and 7 more, found"
        " mix-bagged.toml and mix-high-early.toml; build on one of them",
    ),
    "a change without a base": (
        "[change.strip]\nhold = true\n",
        "mine.toml: change: needs build_on beside it; name what it builds on, or leave it out",
    ),
    "leave_out without a base": (
        'leave_out = ["strip"]\n',
        "mine.toml: line 3: leave_out: needs build_on beside it; name what it builds on, or leave it out",
    ),
    "a step left out that is not there": (
        'build_on = "base.toml"\nleave_out = ["stripp"]\n',
        "mine.toml: line 4: leave_out: no such step in what this builds on, found 'stripp'; did you mean strip?",
    ),
    "a step left out that others name": (
        'build_on = "base.toml"\nleave_out = ["strip"]\n',
        "mine.toml: line 4: leave_out: step slurry names strip in after, and strip is left out; write after in"
        " [change.slurry], or leave slurry out too",
    ),
    "a step left out that a rule names": (
        'build_on = "base.toml"\nleave_out = ["slurry"]\n[change.sand]\nafter = "strip"\n',
        "mine.toml: line 4: leave_out: step sand names slurry in not_before.hardening.since, and slurry is left out;"
        " write not_before in [change.sand], or leave sand out too",
    ),
    "a change to a step that is not there": (
        'build_on = "base.toml"\n[change.flip]\nhold = true\n',
        "mine.toml: line 4: change.flip: no such step in what this builds on, found 'flip'; known: form, cover, strip,"
        " slurry, sand, seal, use",
    ),
    "a change to a step that is left out": (
        'build_on = "base.toml"\nleave_out = ["use"]\n[change.use]\nhold = true\n',
        "mine.toml: line 5: change.use: a change to a step that is left out; take it out of leave_out, or leave this"
        " out",
    ),
    "a change that is no table": (
        'build_on = "base.toml"\nchange = 3\n',
        "mine.toml: line 4: change: tables [change.STEP] are wanted, found 3; name the step, like [change.strip]",
    ),
    "a change of an id": (
        'build_on = "base.toml"\n[change.strip]\nid = "x"\n',
        "mine.toml: line 4: change.strip: an id cannot change, found 'x'; leave the step out and add another",
    ),
    "a key left out that is not there": (
        'build_on = "base.toml"\n[change.strip]\nleave_out = "not_before.drying"\n',
        "mine.toml: line 4: change.strip: leave_out names a key that the step does not have, found 'not_before.drying';"
        " did you mean not_before.strength?",
    ),
    "a step that is there already": (
        'build_on = "base.toml"\n[[step]]\nid = "strip"\ntitle = "x"\nafter = "pour"\n',
        "mine.toml: step 1: id: an id that is there already, in base.toml, found 'strip'; write [change.strip] for what"
        ' differs, or leave_out = ["strip"] to put this one in its place',
    ),
    "a step without an id": (
        'build_on = "base.toml"\n[[step]]\ntitle = "x"\nafter = "pour"\n',
        'mine.toml: step 1: id: an id in quotes is wanted; write it like "seal-top"',
    ),
    "steps that are no list": (
        'build_on = "base.toml"\nstep = 3\n',
        "mine.toml: line 4: step: a list of steps is wanted, found 3; write [[step]]",
    ),
    "a mix that is no table": (
        'build_on = "base.toml"\nmix = "M1"\n',
        "mine.toml: line 4: mix: a table is wanted, found 'M1'; write it below [mix]",
    ),
    # what the checker finds in the whole is said of the file in which it stands
    "an unknown key of a change": (
        'build_on = "base.toml"\n[change.strip]\nholt = true\n',
        "mine.toml: step strip: holt: unknown key; did you mean hold?",
    ),
    "a wrong unit in a change": (
        'build_on = "base.toml"\n[change.strip]\nnot_before = { strength = "3 h" }\n',
        "mine.toml: step strip: not_before.strength: a strength is wanted, not a time, found '3 h'; use MPa, psi, ksi,"
        " GPa, kPa, Pa",
    ),
    "an unknown step in a change": (
        'build_on = "base.toml"\n[change.seal]\nafter = "sandd"\n',
        "mine.toml: step seal: after: no such step, found 'sandd'; did you mean sand?",
    ),
    "a wrong value of the mix": (
        'build_on = "base.toml"\n[mix]\ninitial_set = "4 MPa"\n',
        "mine.toml: mix.initial_set: a time is wanted, not a strength, found '4 MPa'; use min, h, d, week, s",
    ),
    "an unknown key at the top": (
        'build_on = "base.toml"\nleave-out = ["x"]\n',
        "mine.toml: leave-out: unknown key; did you mean leave_out?",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", WRONG)
def test_each_fault_says_file_line_and_remedy(name: str, files: Files) -> None:
    text, expected = WRONG[name]
    form = dict(parts())["form"].read_text(encoding="utf-8")
    assert expected in faults_of(files(HEAD + text, form=form))


def test_all_names_that_are_none_are_said_and_each_fault_once(files: Files) -> None:
    said = faults_of(files(HEAD + 'build_on = ["base.toml", 3, "", true]\n'))
    assert [fault.partition(", found ")[2].partition(";")[0] for fault in said] == ["3", "''", "true"]
    said = faults_of(files(HEAD + 'build_on = ["bagged-tabletop", "fast-polished"]\n'))
    assert len(said) == len(set(said))
    assert all(fault.startswith("mine.toml: line 3: build_on: ") for fault in said), said


def test_a_circle_over_three_files(files: Files) -> None:
    path = files(
        HEAD + 'build_on = "a.toml"\n',
        a=HEAD + '\nbuild_on = "b.toml"\n',
        b=HEAD + 'build_on = ["base.toml", "mine.toml"]\n',
    )
    assert faults_of(path) == (
        "b.toml: line 3: build_on: a circle of profiles, found mine.toml builds on a.toml builds on b.toml builds on"
        " mine.toml; take one build_on away",
    )


def test_a_fault_of_the_base_is_said_of_the_base(files: Files) -> None:
    path = files(HEAD + 'build_on = "base.toml"\n', base=SMALL.replace('lead = "2 h"', 'leed = "2 h"'))
    assert faults_of(path) == ("base.toml: step form: leed: unknown key; did you mean lead?",)


def test_a_base_of_another_format_or_with_unknown_keys(files: Files) -> None:
    path = files(HEAD + 'build_on = "base.toml"\n', base=SMALL.replace("format = 1", "format = 2\nsumary = 3"))
    assert faults_of(path) == (
        "base.toml: sumary: unknown key; did you mean summary?",
        "base.toml: format: a format this program does not know, found 2; it reads format 1",
    )


def test_a_base_that_is_no_toml_says_its_own_line(files: Files) -> None:
    path = files(HEAD + 'build_on = ["base.toml", "bad.toml"]\nleave_out = "nothing"\n', bad="a = \n")
    said = faults_of(path)
    assert said[0].startswith("bad.toml: line 1, column 5: not TOML: ")
    assert said[1].startswith("mine.toml: line 4: leave_out: no such step")  # all at once


def test_too_many_files(files: Files) -> None:
    others = {f"p{n}": f'format = 1\nbuild_on = "p{n + 1}.toml"\n' for n in range(MOST_FILES + 5)}
    said = faults_of(files(HEAD + 'build_on = "p0.toml"\n', **others))
    assert len(said) == 1
    assert f"built on too many files, found 'p{MOST_FILES - 1}.toml'; use at most {MOST_FILES} in all" in said[0]


@pytest.mark.parametrize("odd", ["a\x1b[31m", "x" * 400, "\u202e", "change.\n"])
def test_faults_are_printable_whatever_a_name_holds(odd: str, files: Files) -> None:
    quoted = odd.encode("unicode_escape").decode().replace("\\x", "\\u00")
    text = f'build_on = ["base.toml", "{quoted}"]\nleave_out = ["{quoted}"]\n[change."{quoted}"]\n"{quoted}" = 1\n'
    said = faults_of(files(HEAD + text))
    assert all(line.isprintable() and len(line) < 1500 for line in said)

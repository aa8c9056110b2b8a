"""The list of mutations does not rot: every line to break is still there, once, and the page shows the whole list."""

from collections import Counter

import pytest

from .mutation import ROOT, Damage, source
from .mutations import MUTATIONS
from .page import PAGE, WANTED, shown
from .suites import compiled, plain

TEXT = source(ROOT / "docs" / PAGE)


def test_every_old_text_stands_once_in_its_file():
    misfits = [misfit for one in MUTATIONS if (misfit := one.misfit())]
    assert not misfits, "\n".join(["bring these up to date:", *misfits])


def test_a_text_that_is_gone_is_reported_with_its_file(tmp_path):
    one = MUTATIONS[0]
    (tmp_path / one.file).parent.mkdir(parents=True)
    assert f"no file {one.file}" in one.misfit(tmp_path)
    for text, count in (("", "0 times"), (f"{one.old}\n{one.old}", "2 times")):
        (tmp_path / one.file).write_text(text, encoding="utf-8")
        assert all(part in one.misfit(tmp_path) for part in (one.name, one.file, one.old, count))
        with pytest.raises(ValueError, match=one.file):
            one.applied(tmp_path)


def test_the_new_text_is_python_and_changes_more_than_words():
    """A change of a comment or a docstring would break no law: both are left out here."""
    sound = {file: compile(source(ROOT / file), file, "exec", optimize=2) for file in {one.file for one in MUTATIONS}}
    fitting = [one for one in MUTATIONS if not one.misfit()]
    same = [one.name for one in fitting if compile(one.applied(), one.file, "exec", optimize=2) == sound[one.file]]
    assert not same


def test_tests_exist():
    named = {test for one in MUTATIONS for tests in (*plain(one), *compiled(one)) for test in tests}
    for test in sorted(named):
        path, _, function = test.partition("::")
        assert (ROOT / path).exists(), test
        if function:
            assert f"def {function.partition('[')[0]}(" in source(ROOT / path), test


def test_names_are_one_each_and_the_list_is_broad():
    assert not [name for name, count in Counter(one.name for one in MUTATIONS).items() if count > 1]
    assert len(MUTATIONS) >= 60
    assert {one.damage for one in MUTATIONS} == set(Damage)
    core = {one.file for one in MUTATIONS if one.file.startswith("sim1d/core/")}
    assert {path.rsplit("/", 1)[1].removesuffix(".py") for path in core} >= {
        "rhs", "coolant", "pressure", "caps", "air", "engine", "radiator", "branch_laws", "hydraulics", "stepper",
        "slopes", "pattern", "limits", "stride", "flow_unknowns", "pace", "sparse", "solver",
    }  # fmt: skip


def test_page_shows_every_mutation_and_a_share_that_suffices():
    rows = shown(TEXT)
    assert list(rows) == [one.name for one in MUTATIONS], "run: python -m tests.verification_mutations --write"
    for one in MUTATIONS:
        place, what = f"`{one.file.removeprefix('sim1d/')}`", f"{one.law} ({one.damage.value})"
        assert rows[one.name][1:3] == (place, what.replace("|", "/")), one.name
    alive = [one for one in MUTATIONS if rows[one.name][3].startswith("**survived**")]
    assert [one.name for one in alive] == [one.name for one in MUTATIONS if one.survives]
    assert all(rows[one.name][3] == f"**survived**: {one.survives}" for one in alive)
    assert 1.0 - len(alive) / len(MUTATIONS) >= WANTED
    assert f"{len(MUTATIONS) - len(alive)} of {len(MUTATIONS)} killed" in TEXT

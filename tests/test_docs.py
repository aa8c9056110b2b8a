"""The documentation holds: commands stand where the CI script looks, links resolve, generated pages are fresh."""

import importlib.util
import re
import tomllib
import types
from pathlib import Path

import pytest
import typer

import sim1d
from sim1d.inputs import inputs_of

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PAGES = sorted([ROOT / "README.md", ROOT / "DEVELOPERS.md", *(ROOT / "docs").rglob("*.md")])
RUN, TEST = "python3 -m venv .venv && ", "python3 -m venv .venv-test && "
MARKETING = r"\b(powerful|blazing|cutting.edge|state.of.the.art|revolutionary|seamless|effortless|world.class|easily)\b"


def load_generator():
    spec = importlib.util.spec_from_file_location("generate_docs", ROOT / "docs" / "generate.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


generate = load_generator()


def apps():
    import sim1d.cli
    import studies.cli

    return {name: typer.main.get_command(app) for name, app in (("sim1d", sim1d.cli.app), ("studies", studies.cli.app))}


def name_of(page):
    return page.relative_to(ROOT).as_posix()


def test_first_paragraph_states_the_job():
    first = next(block for block in README.split("\n\n") if not block.startswith("#"))
    for word in ("builder", "V engine", "drag car", "`sim1d`", "`studies`", "hose"):
        assert word in first, word
    assert not re.search(MARKETING, README, re.I)


@pytest.mark.parametrize("beginning", [RUN, TEST])
def test_commands_stand_alone_on_one_line(beginning):
    lines = [line for line in README.splitlines() if line.startswith(beginning)]
    assert len(lines) == 1
    assert not lines[0].rstrip().endswith(("\\", "&&")), "one line, no continuation"
    assert "-c docs/constraints.txt" in lines[0] and (ROOT / "docs" / "constraints.txt").is_file()


def test_readme_commands_find_what_they_need():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    test = next(line for line in README.splitlines() if line.startswith(TEST))
    assert "'.[test]'" in test
    extras = " ".join(project["optional-dependencies"]["test"])
    assert "pytest" in extras and ("-n" not in test.split() or "pytest-xdist" in extras)
    ci = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert RUN.strip() in ci and TEST.removesuffix(" && ") in ci


def shell_lines():
    """Every line of a fenced block or an indented one that calls one of the two commands."""
    for page in (ROOT / "README.md", ROOT / "DEVELOPERS.md"):
        for line in page.read_text(encoding="utf-8").splitlines():
            for piece in line.strip().split(" && "):
                words = piece.split("#")[0].split()
                if words and words[0].removeprefix(".venv/bin/") in ("sim1d", "studies") and len(words) > 1:
                    yield [words[0].removeprefix(".venv/bin/"), *words[1:]]


@pytest.mark.parametrize("words", list(shell_lines()), ids=" ".join)
def test_command_and_its_options_exist(words):
    command = apps()[words[0]].commands.get(words[1])
    assert command is not None, f"there is no {words[0]} {words[1]}"
    known = {option for one in command.params for option in getattr(one, "opts", ())}
    assert {word for word in words[2:] if re.fullmatch(r"--?[a-z-]+", word)} <= known


def test_python_of_the_readme_runs(capsys):
    block = re.search(r"```python\n(.*?)```", README, re.S)[1]
    exec(compile(block, "README.md", "exec"), {})
    printed = capsys.readouterr().out
    assert sim1d.Outcome.COMPLETED.value in printed
    assert "left-1" in printed and "limit" in printed


def links():
    for page in PAGES:
        for target in re.findall(r"\]\(([^)\s]+)\)", page.read_text(encoding="utf-8")):
            yield page, target


@pytest.mark.parametrize(("page", "target"), [pytest.param(*one, id=f"{name_of(one[0])}->{one[1]}") for one in links()])
def test_link_resolves(page, target):
    assert "://" not in target, "nothing outside the project is needed to read it"
    assert (page.parent / target.split("#")[0]).resolve().is_file()


@pytest.mark.parametrize("page", PAGES, ids=name_of)
def test_every_page_can_be_reached(page):
    assert page.parent == ROOT or page in {(source.parent / target).resolve() for source, target in links()}


@pytest.mark.parametrize("name", list(generate.PAGES))
def test_generated_page_is_up_to_date(name):
    page = generate.FOLDER / name
    assert page.read_text(encoding="utf-8") == generate.text_of(name), "run: python docs/generate.py"


def test_every_summary_key_is_described():
    text = (ROOT / "docs" / "reference" / "results.md").read_text(encoding="utf-8")
    table = text.split("## summary.json")[1].split("## The dataset of a study")[0]
    rows = [line.split("|")[1] for line in table.splitlines() if line.startswith("| `")]
    described = {key for row in rows for key in re.findall(r"`(\w+)`", row)}
    car, day = sim1d.load_car(sim1d.example_path("layout_a")), sim1d.load_day(sim1d.example_path("race_day"))
    keys = set(sim1d.summarise(sim1d.simulate(car, day)))
    assert keys <= described, keys - described


def test_calibration_page_says_what_the_examples_say():
    text = (ROOT / "docs" / "explanation" / "calibration.md").read_text(encoding="utf-8")
    rows = dict(re.findall(r"^\| `(engine\.[\w.]+)` \| ([\d.]+)[^|]*\|", text.split("## The reason")[0], re.M))
    assert len(rows) == 7
    for name in ("layout_a", "layout_b", "layout_c"):
        values = {row["path"]: row["value"] for row in inputs_of(sim1d.load_car(sim1d.example_path(name)))}
        for path, shown in rows.items():
            scale = 1e3 if path.endswith("to_coolant") else 1.0
            assert values[path] == pytest.approx(float(shown) * scale), f"{name}: {path}"


def paths_named_in(text):
    """What stands in backticks and looks like a file or folder of the project."""
    for token in re.findall(r"`([\w./-]+)`", text):
        if token.endswith((".py", ".md", ".txt", "/")) and not token.startswith(("~", "first", "/")):
            yield token


@pytest.mark.parametrize("token", sorted(set(paths_named_in(DEVELOPERS))))
def test_path_in_the_developers_page_exists(token):
    folders = ("", "sim1d", "studies", "sim1d/core", "sim1d/physics", "tests")
    assert any((ROOT / folder / token).exists() for folder in folders)


def test_map_has_a_line_for_every_module():
    modules = [file for folder in ("sim1d", "sim1d/core", "studies") for file in (ROOT / folder).glob("*.py")]
    missing = [file.name for file in modules if not file.name.startswith("_") and f"{file.name}" not in DEVELOPERS]
    assert not missing, "give each a place in section 3 of DEVELOPERS.md"


MACHINE = re.compile(r"(?<![\w./])/(?:home|root|Users|work|mnt|srv|tmp)/\w|[A-Z]:\\\\?Users|\.pyenv")


def text_files():
    folders = ("sim1d", "studies", "tests", "docs", "benchmarks", ".ci")
    found = [*(file for folder in folders for file in (ROOT / folder).rglob("*")), *ROOT.glob("*.*")]
    kinds = {".py", ".md", ".toml", ".txt", ".json", ".html", ".css", ""}
    return [file for file in found if file.is_file() and file.suffix in kinds and "cache" not in str(file)]


def test_no_path_of_a_machine():
    here = Path(__file__)
    bad = [name_of(file) for file in text_files() if file != here and MACHINE.search(file.read_text(errors="replace"))]
    assert not bad


def test_pictures_are_pictures():
    for target in {target for _, target in links() if target.endswith(".png")}:
        head = (ROOT / target).read_bytes()[:8]
        assert head == b"\x89PNG\r\n\x1a\n"
        assert (ROOT / target).stat().st_size < 400_000


@pytest.mark.parametrize("name", sim1d.__all__)
def test_public_name_is_not_hidden_by_a_file_of_that_name(name):
    """A lazily loaded function `sim1d.x` would turn into the module `sim1d/x.py` as soon as anything imports that."""
    own_file = (ROOT / "sim1d" / f"{name}.py").exists() or (ROOT / "sim1d" / name).is_dir()
    assert own_file == isinstance(getattr(sim1d, name), types.ModuleType)

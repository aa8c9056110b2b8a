"""Imports point one way, and heavy or special libraries are imported in one file each."""

import ast
from pathlib import Path

import pytest

import sim1d

SIM1D = Path(sim1d.__file__).parent
STUDIES = SIM1D.parent / "studies"

# Layers from the ground up: a module may import from its own layer and from those before it, nothing else.
LAYERS = [
    {"_jit", "units", "errors", "display", "tables", "examples", "arrays", "reading_results", "crossings",
     "sources"},
    {"physics"},
    {"properties", "build"},
    {"parts", "toml_text", "reading", "course"},
    {"paths", "wiring", "car", "day", "gasket"},
    {"schema", "inputs", "stretches", "cuts"},
    {"core"},  # stands on tables and physics alone, see CORE_MAY; pack lays its tables out
    {"pack", "pack_air", "network"},
    {"cavities", "circuit", "mouths", "pour", "static_fill", "carrying", "purge", "fill"},
    {"prepare", "loss_causes"},
    {"simulation", "results"},  # simulate ends by handing what it integrated to results
    {"verdict", "flow_map", "plot_data"},
    {"summary", "headlines"},
    {"checks", "logs", "cautions", "plots_frame", "plots_map", "plots", "plots_fill", "plots_process", "workshop"},
    {"fill_tests", "fill_plan"},
    {"descriptions", "output"},
    {"sobol"},
    {"uncertainty", "gauge_card", "sensor_sheet", "cut_chain", "cut_window", "cut_trial", "cut_soak", "cut_sheet"},
    {"quantiles", "bands", "bands_file"},
    {"terminal", "report", "compare", "ports_study", "faults", "faults_study"},
    {"fill_page", "terminal_fill", "terminal_faults", "sheets", "terminal_sheets", "plots_sheets", "calibrate"},
    {"terminal_calibrate"},
    {"cli"},
]
RANK = {name: rank for rank, layer in enumerate(LAYERS) for name in layer}
CORE_MAY = {"_jit", "physics", "tables", "core"}  # kernels know tables and laws, no description
PARTS_MAY = {"_jit", "units", "errors", "display", "tables", "physics", "properties", "build", "parts"}
ONE_FILE = {
    "pint": {"sim1d/units.py"},
    "CoolProp": {"sim1d/properties.py"},
    "matplotlib": {"sim1d/plots.py", "sim1d/plots_frame.py", "studies/plots.py"},
    "tomlkit": {"sim1d/toml_text.py"},
    "dask": {"studies/execute.py"},
    "distributed": {"studies/execute.py"},
}


def files(folder):
    return sorted(file for file in folder.rglob("*.py") if "__pycache__" not in file.parts)


def imports(file):
    """Dotted names that a file imports, with whether it does so only for type checking."""
    tree = ast.parse(file.read_text(encoding="utf-8"))
    quiet = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.If) and ast.unparse(node.test).endswith("TYPE_CHECKING"):
            quiet |= {id(inner) for inner in ast.walk(node)}
    for node in ast.walk(tree):
        if id(node) in quiet:
            continue
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{file}: relative imports hide the direction"
            yield node.module
            if node.module in ("sim1d", "studies"):
                yield from (f"{node.module}.{alias.name}" for alias in node.names)


def module_of(dotted):
    """First name below sim1d: "sim1d.parts.engine" -> "parts"."""
    pieces = dotted.split(".")
    return pieces[1] if pieces[0] == "sim1d" and len(pieces) > 1 else ""


def own_module(file):
    relative = file.relative_to(SIM1D)
    return relative.parts[0] if len(relative.parts) > 1 else relative.stem


SOURCES = [file for file in files(SIM1D) if own_module(file) not in ("__init__", "__main__")]


def test_every_module_has_a_layer():
    unknown = {own_module(file) for file in SOURCES} - set(RANK)
    assert not unknown, f"give {unknown} a place in LAYERS"


@pytest.mark.parametrize("file", SOURCES, ids=lambda file: str(file.relative_to(SIM1D)))
def test_imports_point_down(file):
    own = own_module(file)
    for name in imports(file):
        target = module_of(name)
        if target in RANK and own in RANK:
            assert RANK[target] <= RANK[own], f"{own} (layer {RANK[own]}) imports {name} (layer {RANK[target]})"


@pytest.mark.parametrize("file", files(SIM1D / "core"), ids=lambda file: file.stem)
def test_core_knows_no_description(file):
    targets = {module_of(name) for name in imports(file)} - {""}
    assert targets <= CORE_MAY


@pytest.mark.parametrize("file", files(SIM1D / "parts"), ids=lambda file: file.stem)
def test_parts_know_no_core(file):
    targets = {module_of(name) for name in imports(file)} - {""}
    assert targets <= PARTS_MAY


def test_nothing_in_sim1d_imports_studies_or_the_command_line():
    for file in files(SIM1D):
        for name in imports(file):
            assert not name.startswith("studies"), file
            if own_module(file) not in ("cli", "__main__"):
                assert not name.startswith("sim1d.cli"), file


@pytest.mark.parametrize("file", files(STUDIES), ids=lambda file: file.stem)
def test_studies_use_only_what_sim1d_exports(file):
    exported = set(getattr(sim1d, "__all__", ()))
    for name in imports(file):
        if name.startswith("sim1d."):
            pieces = name.split(".")
            assert len(pieces) == 2 and pieces[1] in exported, f"{file.name} imports {name}"


@pytest.mark.parametrize("library", ONE_FILE)
def test_library_is_imported_in_one_file(library):
    found = {
        file.relative_to(SIM1D.parent).as_posix()
        for folder in (SIM1D, STUDIES)
        for file in files(folder)
        if any(name.split(".")[0] == library for name in imports(file))
    }
    assert found <= ONE_FILE[library]

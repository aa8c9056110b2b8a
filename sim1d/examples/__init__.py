"""The shipped example files: invented cars, a day and a study."""

from pathlib import Path


def example_path(name: str) -> Path:
    """Path of an example file, such as "layout_a" or "race_day"; raises KeyError with the names there are."""
    folder = Path(__file__).parent
    found = folder / f"{name.removesuffix('.toml')}.toml"
    if not found.is_file():
        raise KeyError(f"no example '{name}'; there are {', '.join(sorted(p.stem for p in folder.glob('*.toml')))}")
    return found

"""Draws the pictures of the README from runs of the shipped examples, with the package's own figures.

python docs/pictures.py
"""

from pathlib import Path

import sim1d
from sim1d import plots

FOLDER = Path(__file__).parent / "images"
PICTURES = {
    "layout_b_map.png": ("layout_b", plots.layout_map),
    "layout_a_metal.png": ("layout_a", plots.metal),
}


def main() -> None:
    """Simulate the race day of each layout and draw."""
    day = sim1d.load_day(sim1d.example_path("race_day"))
    runs = {name: sim1d.simulate(sim1d.load_car(sim1d.example_path(name)), day) for name, _ in PICTURES.values()}
    FOLDER.mkdir(exist_ok=True)
    for file, (name, draw) in PICTURES.items():
        plots.to_png(draw(runs[name]), FOLDER / file)
        print(FOLDER / file)


if __name__ == "__main__":
    main()

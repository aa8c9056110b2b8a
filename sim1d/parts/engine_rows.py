"""Rows of the engine: jackets, holes, passages and galleries of both banks, by the way the coolant goes."""

import math
from typing import TYPE_CHECKING

from sim1d.parts.engine_metal import write_cylinder_metal
from sim1d.physics.orifices import creeping_constant, thick_hole_loss

if TYPE_CHECKING:
    from sim1d.build import Build
    from sim1d.parts.engine import Engine

GALLERY_SHARE = 0.25  # of a head's coolant stands in its outlet gallery (assumed)
CAST = 2.5e-4  # m, sand-grain roughness of a casting (as-cast iron, recalled)


def hole_loss(engine: "Engine", diameter: float, count: int) -> tuple[float, float, float]:
    """Loss coefficient, area (m2) and creeping constant (1/m3) of all transfer holes of one position."""
    holes = max(count, 0)
    if holes == 0:
        # a closed position weeps: a hundredth of the smallest hole (assumed), so that its jacket is no island
        small = 0.1 * min(engine.hole_diameters)
        return thick_hole_loss(engine.gasket.thickness / small), math.pi / 4 * small**2, 24.0 / small**3
    area = holes * math.pi / 4 * diameter**2
    creeping = creeping_constant(diameter, engine.gasket.thickness) / holes
    return thick_hole_loss(engine.gasket.thickness / diameter), area, creeping


def write_engine(engine: "Engine", build: "Build", name: str) -> None:
    """All rows of the engine."""
    from sim1d.parts.engine import BANKS, CoolantPath

    writers = {
        CoolantPath.BLOCK_FIRST_PARALLEL: parallel,
        CoolantPath.BLOCK_FIRST_SERIES: series,
        CoolantPath.HEAD_FIRST: head_first,
    }
    n = engine.cylinders_per_bank
    block_metal, head_metal = engine.block.material.metal, engine.head.material.metal
    for bank in BANKS:
        for i in range(1, n + 1):
            x = engine.cylinder_x(i - 1)
            build.junction(
                f"{name}.{bank}-{i}.block", x, engine.block_z, engine.block_volume / (2 * n),
                growth=3 * block_metal.expansion, steam=True,
            )  # fmt: skip
            head_z = engine.deck_z + 0.5 * engine.head.gallery_height
            build.junction(
                f"{name}.{bank}-{i}.head", x, head_z, engine.head.volume / n * (1 - GALLERY_SHARE),
                growth=3 * head_metal.expansion, steam=True,
            )  # fmt: skip
            build.junction(
                f"{name}.{bank}-{i}.gallery", x, engine.head_z, engine.head.volume / n * GALLERY_SHARE,
                growth=3 * head_metal.expansion, steam=True,
            )  # fmt: skip
        writers[engine.coolant_path](engine, build, f"{name}.{bank}")
        for i in range(1, n + 1):
            write_cylinder_metal(engine, build, name, bank, i)
    if engine.intake_crossover is not None:
        write_crossover(engine, build, name)


def ladder(engine: "Engine", build: "Build", at: str, reverse: bool) -> None:
    """The rungs: every cylinder's block jacket, transfer holes and head passage, up (or down when `reverse`)."""
    n = engine.cylinders_per_bank
    head, block = engine.head, engine.block
    for i in range(1, n + 1):
        k, area, creeping = hole_loss(engine, engine.hole_diameters[i - 1], engine.hole_counts[i - 1])
        total = (
            head.loss_coefficient
            + block.loss_coefficient * (head.passage_area / block.passage_area) ** 2
            + k * (head.passage_area / area) ** 2
        )
        ends = (f"{at}-{i}.head", f"{at}-{i}.block") if reverse else (f"{at}-{i}.block", f"{at}-{i}.head")
        build.branch(
            f"{at}-{i}.passage",
            *ends,
            diameter=head.passage_diameter,
            area=head.passage_area,
            k=total,
            creeping=creeping,
        )
        ends = (f"{at}-{i}.gallery", f"{at}-{i}.head") if reverse else (f"{at}-{i}.head", f"{at}-{i}.gallery")
        # entry and exit of a short opening between passage and gallery: 0.5 + 1.0, textbook values
        build.branch(
            f"{at}-{i}.neck", *ends, diameter=head.passage_diameter, area=head.passage_area, k=1.5
        )  # fmt: skip
        bank = at.rsplit(".", 1)[1]
        build.cylinders.append(
            dict(name=f"{bank}-{i}", bank=bank, node=f"{at}-{i}.head", branch=f"{at}-{i}.passage", sign=1.0)
        )


def gallery(
    engine: "Engine", build: "Build", at: str, row: str, diameter: float, theta: float, front: str, rear: str
) -> None:
    """The long passage along a row of stations (`block` or `gallery`), with its momentum change.

    `front` and `rear` name the main branch that joins it at either end ("" at a dead end): their flow counts for the
    speed at the end stations.
    """
    n = engine.cylinders_per_bank
    area = math.pi / 4 * diameter**2
    names = [f"{at}.{row}.{i}-{i + 1}" for i in range(1, n)]
    for i, branch in enumerate(names, start=1):
        build.branch(
            branch, f"{at}-{i}.{row}", f"{at}-{i + 1}.{row}", diameter=diameter, length=engine.pitch, roughness=CAST
        )
    chain = [front, *names, rear]
    for k in range(1, n):
        build.stations.append(dict(branch=chain[k], before=chain[k - 1], after=chain[k + 1], theta=theta, area=area))


def outlets(engine: "Engine", build: "Build", at: str, row: str) -> tuple[str, str]:
    """Branches from the stations of `row` to every plumbed opening; returns the main one at either end ("": none)."""
    n = engine.cylinders_per_bank
    bank = at.split(".", 1)[1]
    places = {"front": [1], "front_vent": [1], "rear": [n], "rear_vent": [n], "middle": [n // 2, n // 2 + 1]}
    if n % 2:
        places["middle"] = [(n + 1) // 2]
    main = {"front": "", "rear": ""}
    for local, stations in places.items():
        port = engine.ports().get(f"{bank}.{local}")
        full = f"{at}.{local}"
        if port is None or full not in build.plumbed:
            continue
        build.junction(full, port.x, port.z)
        for station in stations:
            # sharp entry from the gallery into the throat: 0.5, textbook value
            branch = build.branch(
                f"{full}.throat" + (f".{station}" if len(stations) > 1 else ""), f"{at}-{station}.{row}", full,
                diameter=port.bore, area=math.pi / 4 * port.bore**2 / len(stations), k=0.5,
            )  # fmt: skip
            if local in main:
                main[local] = branch
    return main["front"], main["rear"]


def sides(engine: "Engine", build: "Build", at: str) -> None:
    """Openings in the side and at the rear of the block, where plumbed."""
    n = engine.cylinders_per_bank
    bank = at.split(".", 1)[1]
    for local, station in (("block_middle", (n + 1) // 2), ("block_rear", n)):
        port = engine.ports().get(f"{bank}.{local}")
        if port is not None and f"{at}.{local}" in build.plumbed:
            build.junction(f"{at}.{local}", port.x, port.z)
            build.branch(f"{at}.{local}.throat", f"{at}-{station}.block", f"{at}.{local}", diameter=port.bore, k=0.5)


def inlet(engine: "Engine", build: "Build", at: str, station: str) -> str:
    """The coolant inlet of a bank, where plumbed: returns its branch ("": none)."""
    bank = at.split(".", 1)[1]
    port = engine.ports().get(f"{bank}.inlet")
    if port is None or f"{at}.inlet" not in build.plumbed:
        return ""
    build.junction(f"{at}.inlet", port.x, port.z)
    # sudden expansion from the throat into the gallery: at most one velocity head (Borda-Carnot)
    return build.branch(f"{at}.inlet.throat", f"{at}.inlet", station, diameter=port.bore, k=1.0)


def parallel(engine: "Engine", build: "Build", at: str) -> None:
    """Block first, every cylinder with its own holes: a ladder between two galleries."""
    galleries = engine.galleries
    ladder(engine, build, at, reverse=False)
    entry = inlet(engine, build, at, f"{at}-1.block")
    gallery(engine, build, at, "block", galleries.block_diameter, galleries.momentum_dividing, entry, "")
    front, rear = outlets(engine, build, at, "gallery")
    gallery(engine, build, at, "gallery", galleries.head_diameter, galleries.momentum_combining, front, rear)
    sides(engine, build, at)


def head_first(engine: "Engine", build: "Build", at: str) -> None:
    """Heads first: into the head gallery, down every rung, out of the block gallery."""
    galleries = engine.galleries
    ladder(engine, build, at, reverse=True)
    entry = inlet(engine, build, at, f"{at}-1.gallery")
    gallery(engine, build, at, "gallery", galleries.head_diameter, galleries.momentum_dividing, entry, "")
    front, rear = outlets(engine, build, at, "block")
    gallery(engine, build, at, "block", galleries.block_diameter, galleries.momentum_combining, front, rear)
    sides(engine, build, at)


def series(engine: "Engine", build: "Build", at: str) -> None:
    """Along the block to the rear, up through all holes there, forward through the head."""
    n = engine.cylinders_per_bank
    head, block = engine.head, engine.block
    bank = at.split(".", 1)[1]
    inlet(engine, build, at, f"{at}-1.block")
    for i in range(1, n):
        build.branch(
            f"{at}-{i}.jacket", f"{at}-{i}.block", f"{at}-{i + 1}.block", diameter=block.passage_diameter,
            area=block.passage_area, k=block.loss_coefficient,
        )  # fmt: skip
    k, area, creeping = hole_loss(engine, max(engine.hole_diameters), sum(engine.hole_counts))
    total = head.loss_coefficient + k * (head.passage_area / area) ** 2
    build.branch(
        f"{at}-{n}.passage", f"{at}-{n}.block", f"{at}-{n}.head", diameter=head.passage_diameter,
        area=head.passage_area, k=total, creeping=creeping,
    )  # fmt: skip
    for i in range(n - 1, 0, -1):
        build.branch(
            f"{at}-{i}.passage", f"{at}-{i + 1}.head", f"{at}-{i}.head", diameter=head.passage_diameter,
            area=head.passage_area, k=head.loss_coefficient,
        )  # fmt: skip
    for i in range(1, n + 1):  # the outlet openings sit on the gallery above each passage
        build.branch(
            f"{at}-{i}.neck", f"{at}-{i}.head", f"{at}-{i}.gallery", diameter=head.passage_diameter,
            area=head.passage_area, k=1.5,
        )  # fmt: skip
        build.cylinders.append(
            dict(name=f"{bank}-{i}", bank=bank, node=f"{at}-{i}.head", branch=f"{at}-{i}.passage", sign=1.0)
        )
    outlets(engine, build, at, "gallery")
    sides(engine, build, at)


def write_crossover(engine: "Engine", build: "Build", name: str) -> None:
    """The intake passage that joins the front of both banks into one opening."""
    from sim1d.parts.engine import ARM, BANKS, CoolantPath

    full = f"{name}.crossover"
    port = engine.ports().get("crossover")
    if port is None:
        return
    build.junction(full, port.x, port.z, engine.crossover_volume)
    row = "block" if engine.coolant_path is CoolantPath.HEAD_FIRST else "gallery"
    for bank in BANKS:
        build.branch(
            f"{name}.{bank}.crossover", f"{name}.{bank}-1.{row}", full, diameter=engine.crossover_bore,
            length=ARM, roughness=CAST, k=1.5,
        )  # fmt: skip
    build.notes.append(f"The crossover's arms are taken as {ARM:g} m long with one sharp turn each (assumed).")

"""The water side and the metal of an engine: block jackets, gasket holes, head passages and galleries."""

from typing import Annotated

from sim1d.parts.base import EACH_OR_ONE, Counts, Part, option, quantity
from sim1d.parts.material import Material
from sim1d.units import Area, Length, Mass, Number, Volume


class EngineBlock(Part):
    """Both banks of the block: jackets, liners and the slow metal round them."""

    material: Material = option("metal of the block", default=Material.IRON, source="common practice, no source")
    volume: Volume = quantity("coolant in the jackets of the block, both banks, before any fill", low=2e-4, high=0.02)
    fill: Number = quantity(
        "share of the jacket depth that is filled with cement from below",
        default=0.0,
        low=0.0,
        high=0.95,
        source="no fill",
    )
    jacket_depth: Length = quantity(
        "depth of the jackets below the deck", default=0.14, low=0.02, high=0.4, source="assumed, bore plus a third"
    )
    loss_coefficient: Number = quantity(
        "loss coefficient of one block jacket on the mean speed in its flow area",
        default=3.0,
        low=0.0,
        high=200.0,
        source="assumed: entry, two turns and exit of a cast passage",
        band=(1.5, 6.0),
    )
    passage_area: Area = quantity(
        "flow area of one block jacket", default=6e-4, low=2e-5, high=1e-2, source="assumed: 6 mm gap round half a bore"
    )
    passage_diameter: Length = quantity(
        "hydraulic diameter of one block jacket", default=0.012, low=0.002, high=0.06, source="assumed: twice the gap"
    )
    liner_thickness: Length = quantity(
        "thickness of the cylinder wall", default=0.005, low=0.002, high=0.02, source="assumed"
    )
    liner_material: Material = option(
        "metal of the cylinder wall", default=Material.IRON, source="common practice, no source"
    )
    slow_mass: Mass = quantity(
        "block metal per cylinder that follows the coolant slowly", default=9.0, low=0.5, high=60.0, source="assumed"
    )


class EngineHead(Part):
    """One head (both are alike): passages over the chambers, fire deck, exhaust bridge and ports."""

    material: Material = option("metal of the heads", default=Material.ALUMINIUM, source="common practice, no source")
    volume: Volume = quantity("coolant in one head", low=1e-4, high=0.01)
    gallery_height: Length = quantity(
        "height of the outlet gallery above the deck", default=0.08, low=0.01, high=0.3, source="assumed"
    )
    height: Length = quantity(
        "height of the highest coolant in the head above the deck", default=0.10, low=0.01, high=0.4, source="assumed"
    )
    passage_area: Area = quantity(
        "flow area of one head passage", default=3.2e-4, low=2e-5, high=5e-3, source="assumed: about 1 m/s at full pump"
    )
    passage_diameter: Length = quantity(
        "hydraulic diameter of one head passage", default=0.010, low=0.002, high=0.06, source="assumed"
    )
    loss_coefficient: Number = quantity(
        "loss coefficient of one head passage on the mean speed in its flow area",
        default=6.0,
        low=0.0,
        high=200.0,
        source="assumed: round the valve bowls, three sharp turns",
        band=(3.0, 12.0),
    )
    local_speed_factor: Number = quantity(
        "speed under the exhaust bridge over the mean speed of the head passage",
        default=2.2,
        low=0.2,
        high=5.0,
        source="assumed: the gap between the exhaust seats is narrower than the passage (calibration page)",
        band=(0.8, 2.5),
    )
    enhancement: Number = quantity(
        "single-phase heat transfer over that of a smooth, developed passage",
        default=1.25,
        low=0.5,
        high=3.0,
        source="assumed; published jacket work corrects for undeveloped flow and roughness by 1.0 to 1.6",
        band=(1.0, 1.6),
    )
    critical_heat_flux_factor: Number = quantity(
        "critical heat flux of the roof over that of an upward or round passage (it faces down)",
        default=0.75,
        low=0.1,
        high=1.5,
        source="assumed from published orientation effects on pool boiling, high in its band (calibration page)",
        band=(0.35, 0.8),
    )
    deck_thickness: Length = quantity(
        "thickness of the fire deck", default=0.010, low=0.004, high=0.03, source="assumed"
    )
    deck_shape: Number = quantity(
        "wetted area of the fire deck over the bore area",
        default=1.15,
        low=0.5,
        high=2.0,
        source="assumed: chamber shape",
    )
    bridge_area: Area = quantity(
        "area of the exhaust bridge spot", default=8e-4, low=5e-5, high=5e-3, source="assumed: 40 x 20 mm"
    )
    port_area: Area = quantity(
        "wetted area of one cylinder's exhaust port", default=1.2e-2, low=1e-3, high=0.06, source="assumed"
    )
    port_thickness: Length = quantity(
        "wall of the exhaust port", default=0.005, low=0.002, high=0.02, source="common practice, no source"
    )
    slow_mass: Mass = quantity(
        "head metal per cylinder that follows the coolant slowly", default=2.5, low=0.2, high=20.0, source="assumed"
    )
    wall_cells: int = quantity(
        "cells through the fire deck",
        default=5,
        low=1,
        high=20,
        source="computed: 5 cells hold the face of a 10 mm deck within 2 % from 0.25 s after a step",
    )


class Gasket(Part):
    """Transfer holes between block and head, by position front to rear: one value for all or one per cylinder."""

    hole_diameter: Annotated[tuple[Length, ...], EACH_OR_ONE] = quantity(
        "diameter of one transfer hole (of the smallest of gasket, deck and head), front to rear", low=0.001, high=0.04
    )
    hole_count: Counts = quantity("transfer holes of one cylinder, front to rear", low=0, high=20)
    thickness: Length = quantity(
        "length of a transfer hole: gasket plus drilled deck", default=0.010, low=0.0005, high=0.04, source="assumed"
    )


class Galleries(Part):
    """The long passages that feed the cylinders of a bank and gather their flow: bores and momentum factors."""

    block_diameter: Length = quantity(
        "hydraulic diameter of the gallery along one bank of the block",
        default=0.030,
        low=0.005,
        high=0.1,
        source="assumed",
    )
    head_diameter: Length = quantity(
        "hydraulic diameter of the gallery along one head", default=0.025, low=0.005, high=0.1, source="assumed"
    )
    momentum_dividing: Number = quantity(
        "momentum factor of a gallery that gives flow off",
        default=1.05,
        low=0.0,
        high=2.0,
        source="Bajura and Jones 1976 (range about 1 to 1.4), recalled",
        band=(1.0, 1.4),
    )
    momentum_combining: Number = quantity(
        "momentum factor of a gallery that gathers flow",
        default=2.6,
        low=0.0,
        high=3.0,
        source="Bajura and Jones 1976 and later manifold models (2.0 to 2.6), recalled",
        band=(2.0, 2.6),
    )

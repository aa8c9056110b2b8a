"""Static fill of hand-made circuits, against levels and volumes worked out by hand."""

import math

import pytest
from scipy.optimize import brentq

from sim1d.carrying import air_lock, criteria
from sim1d.cavities import Cavity, Circuit, Opening, profile
from sim1d.mouths import Mouth
from sim1d.physics.gas_space import pump_start_drop, squeeze_rise_with_give
from sim1d.physics.hydrostatics import pocket_volume
from sim1d.pour import AMBIENT, GRAVITY, Pour, Shut, body_with, pour_in

DENSITY = 1000.0


def prism(circuit, name, low, high, volume=1e-3, run=None):
    return circuit.add(Cavity(name, name, volume, (low, high), (0.0, 1.0), 0.0, (low + high) / 2, run))


def dry_circuit(vapour=0.0):
    return Circuit(0.0, density=DENSITY, vapour=vapour)


def liquid(circuit, pour):
    """Litres by cavity, shut-in gas settled."""
    found = {cavity.name: pour.liquid(i) * 1e3 for i, cavity in enumerate(circuit.cavities)}
    for region in pour.regions:
        found |= {circuit.cavities[i].name: value * 1e3 for i, value in pour.settle(region)[0].items()}
    return found


def test_u_tube_with_a_shut_leg():
    """Two columns of 1 L and 1 m joined at the foot, one shut on top, filled to 0.8 m: the gas above the crown of the
    opening (2 cm) is caught and shrinks, (p0 + rho g (0.8 - l)) (1 - l) = p0 0.98 (derived)."""
    circuit = dry_circuit()
    open_leg, shut_leg = prism(circuit, "open", 0.0, 1.0), prism(circuit, "shut", 0.0, 1.0)
    circuit.open(Opening(open_leg, shut_leg, "foot", 0.0, 0.02))
    mouth = Mouth("top", open_leg, 1.0, 0.8)
    pour = pour_in(circuit, mouth, mouth, [], 0.0)

    def excess(height):
        return (AMBIENT + DENSITY * GRAVITY * (0.8 - height)) * (1 - height) - AMBIENT * 0.98

    level = brentq(excess, 0.0, 0.8, xtol=1e-14)
    found = liquid(circuit, pour)
    assert found["open"] == pytest.approx(0.8, abs=1e-9)
    assert found["shut"] == pytest.approx(level, abs=1e-9)
    assert 0.07 < level < 0.1  # nine tenths of it stay air
    (region,) = pour.regions
    assert region.sill == "foot" and region.sill_height == pytest.approx(0.02)
    assert region.volume == pytest.approx(0.98e-3, rel=1e-12)


@pytest.mark.parametrize(("crest", "beyond"), [(0.9, 0.0), (0.4, 0.6)])
def test_hose_over_a_crest(crest, beyond):
    """A vented far tank fills to the same 0.6 m when the crest of the hose lies below the neck, and not at all when it
    lies above: what stands above the neck can never be full (derived)."""
    circuit = dry_circuit()
    near, far = prism(circuit, "near", 0.0, 1.0), prism(circuit, "far", 0.0, 1.0)
    up = prism(circuit, "up", 0.1, crest, 1e-4)
    down = prism(circuit, "down", 0.1, crest, 1e-4)
    circuit.open(Opening(near, up, "near end", 0.1, 0.12))
    circuit.open(Opening(up, down, "crest", crest - 0.01, crest))
    circuit.open(Opening(down, far, "far end", 0.1, 0.12))
    neck, vent = Mouth("neck", near, 1.0, 0.6), Mouth("vent", far, 1.0, 1.0)
    pour = pour_in(circuit, neck, neck, [vent], 0.0)
    found = liquid(circuit, pour)
    assert found["near"] == pytest.approx(0.6, abs=1e-9)
    assert found["far"] == pytest.approx(beyond, abs=1e-9)
    if crest > 0.6:  # the rising leg fills to the neck, its top and the far leg stay air
        assert found["up"] == pytest.approx(0.1 * 0.5 / 0.8, abs=1e-9) and found["down"] == 0.0


def test_a_basin_behind_a_sill_fills_before_the_surface_rises_on_and_can_drown_its_own_vent():
    """Liquid spills over a sill at 0.5 m into a basin that breathes by a pipe at 0.2 m only: gas above 0.2 m stays."""
    circuit = dry_circuit()
    source, basin, pipe = (prism(circuit, name, 0.0, 1.0) for name in ("source", "basin", "pipe"))
    chute = prism(circuit, "chute", 0.0, 0.55, 1e-5)
    circuit.open(Opening(source, chute, "sill", 0.5, 0.55))
    circuit.open(Opening(chute, basin, "foot of the chute", 0.0, 0.05))
    circuit.open(Opening(basin, pipe, "breather", 0.18, 0.2))
    neck, vent = Mouth("neck", source, 1.0, 0.5), Mouth("vent", pipe, 1.0, 1.0)
    pour = pour_in(circuit, neck, neck, [vent], 0.0)
    region = next(one for one in pour.regions if circuit.index["basin"] in one.cavities)
    assert region.sill == "breather" and region.volume == pytest.approx(0.8e-3, rel=1e-9)
    assert liquid(circuit, pour)["pipe"] == pytest.approx(0.5, abs=1e-9)


def test_pocket_of_50_ml_under_a_cap():
    """50 mL shut in at 1 atm under 110 kPa gauge and 0.3 m of coolant: 23.64 mL (Boyle, derived)."""
    circuit = dry_circuit()
    source, trap = prism(circuit, "source", 0.0, 1.0), prism(circuit, "trap", 0.0, 1e-6, 5e-5)
    pour = Pour(circuit, [], AMBIENT + 110e3)
    body_with(pour, source).height = 0.3
    pour.body_of[trap] = pour.body_of[source]
    region = Shut((trap,), AMBIENT * 5e-5, 5e-5, AMBIENT, "", 0.0)
    held, pressure = pour.settle(region)
    assert (5e-5 - held[trap]) * 1e6 == pytest.approx(23.64, abs=0.01)
    assert pocket_volume(5e-5, AMBIENT, pressure) == pytest.approx(5e-5 - held[trap], rel=1e-9)


def test_air_lock_of_two_downhill_legs():
    """Air in downhill legs of 0.35 and 0.20 m in series: 1000 x 9.81 x 0.55 = 5.40 kPa (derived)."""
    circuit = dry_circuit()
    names = (("pump.discharge", 0.0, None), ("lines.a", 0.0, (0.35, 0.0, 0.5)), ("lines.up", 0.0, (0.0, 0.2, 0.5)),
             ("lines.b", 0.0, (0.2, 0.0, 0.5)))  # fmt: skip
    for name, low, run in names:
        circuit.add(Cavity(name, name, 1e-4, (low, low + 0.4), (0.0, 1.0), 0.0, 0.0, run))
    for k in range(3):
        circuit.open(Opening(k, k + 1, "", 0.0, 0.01, branch="loop", area=1e-3, bore=0.03))
    flow = {"loop": 1e-3, "lines.a": 1e-3, "lines.up": 1e-3, "lines.b": 1e-3}
    assert air_lock(circuit, flow, {1: 1e-4, 3: 1e-4}) == pytest.approx(5.40e3, rel=2e-3)
    # the rising leg helps nobody and hinders nobody; a leg that is less than half air lets coolant run beneath
    assert air_lock(circuit, flow, {1: 1e-4, 2: 1e-4, 3: 0.4e-4}) == pytest.approx(1000 * GRAVITY * 0.35)


def test_squeeze():
    """100 mL into 1.3 L of gas at 1 atm: +8.44 kPa (Boyle, derived); giving walls take their share of the 100 mL."""
    assert squeeze_rise_with_give(1.3e-3, 1e-4, AMBIENT, 0.0) == pytest.approx(8.44e3, abs=10)
    give = 8e-10  # m3/Pa
    rise = squeeze_rise_with_give(1.3e-3, 1e-4, AMBIENT, give)
    assert give * rise + 1.3e-3 * rise / (AMBIENT + rise) == pytest.approx(1e-4, rel=1e-12)
    walls = squeeze_rise_with_give(0.0, 1e-4, AMBIENT, give)  # no gas
    assert walls == pytest.approx(1e-4 / give, rel=1e-12)
    assert squeeze_rise_with_give(1.7e-3, 1e-4, AMBIENT, 0.0) == pytest.approx(6.33e3, abs=10)  # 0.4 L hidden


def test_pump_start():
    """0.4 L where the pump raises 101.3 to 161.3 kPa abs: the level falls by 149 mL (Boyle, derived)."""
    assert pump_start_drop(0.4e-3, 101.3e3, 161.3e3) * 1e6 == pytest.approx(149, abs=0.5)


def test_criteria_are_the_published_ones():
    """22.2 mm at 22.5 degrees: Escarameia 0.446 x 1.1 = 0.491, Wisner 0.457, rule 0.6 m/s; 150 mm at 5 degrees:
    0.9405 x 1.1 = 1.035, 1.090, 0.6 m/s (computed from the published forms)."""
    low, high = criteria(0.0222, math.radians(22.5), 1e-3)
    assert low == pytest.approx(0.457, abs=0.001) and high == 0.6
    low, high = criteria(0.15, math.radians(5.0), math.pi / 4 * 0.15**3)
    assert low == 0.6 and high == pytest.approx(1.090, abs=0.001)


@pytest.mark.parametrize("tilt", [0.0, 0.05, 0.3, 1.0])
def test_profile_of_a_tilted_box_holds_its_area(tilt):
    """Half its area lies below its middle; the wedge below the lower corner is a triangle (derived)."""
    tall, wide = 0.1 * math.cos(tilt), 0.3 * math.sin(tilt)
    heights, shares = profile(0.0, tall, wide)
    cavity = Cavity("", "", 1.0, heights, shares, 0.0, 0.0)
    assert cavity.held(0.0) == pytest.approx(0.5, abs=1e-12)
    assert cavity.high - cavity.low == pytest.approx(tall + wide)
    assert list(heights) == sorted(heights) and list(shares) == sorted(shares)
    small, large = min(tall, wide), max(tall, wide)
    if small > 0.0:
        assert cavity.held(cavity.low + small) == pytest.approx(small / (2 * large), abs=1e-12)
    for level in (cavity.low, -0.01, 0.0, 0.02, cavity.high):
        if cavity.low <= level <= cavity.high:
            assert cavity.level(cavity.held(level)) == pytest.approx(level, abs=1e-12)

"""Static fill and purge of the example layouts: what drowns, what helps, and the volumes worked out by hand."""

import math
import time

import numpy as np
import pytest

from sim1d.car import load_car
from sim1d.day import load_day
from sim1d.errors import DescriptionError
from sim1d.examples import example_path
from sim1d.fill import hanging_gas, other_manners, remaining_air
from sim1d.pack import pack
from sim1d.physics.ambient import AIR_GAS_CONSTANT
from sim1d.prepare import prepared
from sim1d.purge import purge, released_air, running
from sim1d.static_fill import Reason, static_fill

LITRE = 1e-3
# what a good fill leaves below the purge: gas over the crowns of narrower openings, by hand 6.5 of 38 mm of the Y-piece
# (0.129 L) and 6.5 of 45 mm of the pump's suction side (0.15 L), and the upper ends of the two hoses that lead there
CROWNS = 0.08 * LITRE


def layout(letter, **values):
    car = load_car(example_path(f"layout_{letter}"))
    return car.with_values({path.replace("__", "."): value for path, value in values.items()})


def part(fill, word):
    return sum(volume for place, volume in fill.air.items() if word in place) / LITRE


# What the static fill leaves ------------------------------------------------------------------------------------


@pytest.mark.parametrize("letter", "ab")
def test_a_high_tank_with_vents_leaves_next_to_nothing(letter):
    fill = static_fill(layout(letter))
    assert fill.trapped < CROWNS
    assert fill.at == "expansion_tank" and fill.surface == pytest.approx(0.92, abs=1e-9)  # base 0.85 + 0.7 of 2 L
    # what it does not take beyond that stands in the vent lines, in the gas of the tank
    hangs = sum(cavity.gas for cavity in fill.cavities if cavity.reason is Reason.TANK_GAS and "lines" in cavity.name)
    gas = sum(cavity.gas for cavity in fill.cavities if cavity.reason is Reason.DROWNED)
    assert fill.missing == pytest.approx(hangs + gas, abs=1e-12)


def test_filled_at_a_low_neck_both_heads_stay_dry():
    """Layout C by hand: the crown of the radiator inlet drowns at 0.18 + 0.9 x 0.42 + 0.019 = 0.577 m. Above it stand
    both heads (2.4 L), 43 mm of the 140 mm deep jackets (0.983 L), both outlet hoses (0.442 L), the Y-piece of three
    bores of 38 mm (0.129 L) and the upper hose but for the wedge at its lower end (0.695 L); over the crown of the
    pump's outlet of 32 mm 6.5 of the 45 mm of its suction side (0.022 L) and 5 mL of the hose that ends there. Shut in,
    it shrinks by 0.2 %, so it is the same at ambient pressure."""
    fill = static_fill(layout("c"))
    assert part(fill, "head") == pytest.approx(2.4, rel=0.005)
    block = 3.2 * (0.62 - 0.577) / 0.14
    assert part(fill, "block") == pytest.approx(block, rel=0.01)
    hoses = 2 * math.pi / 4 * 0.025**2 * 0.45 / LITRE
    assert part(fill, "_outlet") == pytest.approx(hoses, rel=0.005)
    upper = math.pi / 4 * 0.038**2 * 0.7 / LITRE * (1 - 0.038 / (2 * (0.71 - 0.558)))
    assert part(fill, "upper") == pytest.approx(upper, rel=0.01)
    y_piece, pump = 3 * math.pi / 4 * 0.038**3 / LITRE, 0.15 * 6.5 / 45
    assert part(fill, "outlet_y") == pytest.approx(y_piece, rel=0.005)
    assert part(fill, "pump") == pytest.approx(pump, rel=0.01)
    assert fill.trapped / LITRE == pytest.approx(2.4 + block + hoses + y_piece + upper + pump + 0.005, abs=0.005)
    heads = [cavity for cavity in fill.cavities if cavity.name.endswith("head")]
    assert {cavity.sill for cavity in heads} == {"radiator.inlet"}
    assert all(cavity.sill_z == pytest.approx(0.577) and cavity.level is None for cavity in heads)
    pocket = max(fill.pockets, key=lambda one: one.volume)
    assert pocket.shut_pressure == pytest.approx(101325.0)
    # the gas ends under the head between the neck and its own surface in the jackets (hydrostatics)
    surface = next(cavity.level for cavity in fill.cavities if cavity.name == "engine.left-1.block")
    assert pocket.pressure - 101325.0 == pytest.approx(998.2 * 9.80665 * (0.600 - surface), rel=2e-3)


def test_with_its_inlet_at_the_neck_the_deck_part_of_the_block_alone_stays():
    """The inlet's crown at 0.60 m: heads 2.4 L and 3.2 L x 20/140 mm = 0.457 L of the jackets (by hand)."""
    fill = static_fill(layout("c", radiator__inlet_level=1.0 - 0.019 / 0.42))
    assert part(fill, "head") == pytest.approx(2.4, rel=0.005)
    assert part(fill, "block") == pytest.approx(0.457, rel=0.02)


def test_a_tank_on_top_of_layout_c_lets_its_air_out():
    """Layout C below, remote tank and vents above, tee at the suction: that is layout A with its radiator hung low."""
    fill = static_fill(layout("a", radiator__mount_height=0.18))
    assert fill.trapped < CROWNS


def test_nose_up_drains_a_low_neck_in_front_and_tail_up_makes_it_worse():
    """Raised, a neck in front of the engine rises over the heads (common practice)."""
    car = layout("c")
    trapped = [static_fill(car, nose_up=math.radians(degrees)).trapped for degrees in (-8, -4, 0, 4, 8, 12)]
    assert trapped == sorted(trapped, reverse=True)
    assert trapped[-1] < 0.5 * trapped[2]


def test_nose_up_catches_air_at_the_front_of_a_head_that_breathes_at_the_rear():
    lines, plugs = ("left_front_vent", "left_outlet", "left_rear"), ("left.front_vent", "left.front", "left.rear")
    car = _without(layout("a"), *lines, plugs=plugs)
    level, up = static_fill(car).trapped, static_fill(car, nose_up=math.radians(8)).trapped
    assert level < CROWNS and up > 0.3 * LITRE


def _without(car, *lines, plugs=()):
    """The car without these lines, their openings plugged."""
    from sim1d.car import build_car

    data = car.to_file()
    for line in lines:
        del data["lines"][line]
    data["engine"]["plugged"] = [*data["engine"].get("plugged", []), *plugs]
    return build_car(data)


def test_a_vent_too_narrow_for_a_bubble_or_blocked_lets_no_air_up():
    """Below 5.0 mm a long bubble stands still in water (Bretherton 1961). Then the left bank breathes by its inlet hose
    alone, which drowns at the pump, z 0.45 + 0.016 m: the whole bank, 1.6 + 1.2 L, stays dry (by hand)."""
    vents = ("left_front_vent", "left_rear_vent")
    wide = _without(layout("a"), "left_outlet", "left_rear", plugs=("left.front", "left.rear"))
    assert static_fill(wide).trapped < CROWNS
    for key, value in (("bore", 0.0045), ("blocked", True)):
        fill = static_fill(wide.with_values({f"lines.{name}.{key}": value for name in vents}))
        bank = [cavity for cavity in fill.cavities if cavity.name.startswith("engine.left")]
        assert sum(cavity.gas for cavity in bank) / LITRE == pytest.approx(2.8, rel=0.02)
        assert {cavity.sill for cavity in bank} == {"pump.discharge"}
        assert bank[0].sill_z == pytest.approx(0.466)
    narrow = wide.with_values({f"lines.{name}.bore": 0.0051 for name in vents})
    assert static_fill(narrow).trapped < CROWNS


def test_a_bleed_screw_at_a_crest_empties_it():
    """An upper hose over a crest at 0.80 m, below the mark of the tank: a bleed screw there lets its air out."""
    crest = dict(lines__upper__high_z=0.80, lines__upper__length=0.9)
    caught = static_fill(layout("a", **crest))
    assert part(caught, "upper") > 0.1
    screw = layout("a", **crest, lines__upper__fittings=["swept_90", "bleed_screw"])
    assert part(static_fill(screw), "upper") < 0.005
    assert part(static_fill(screw, bleeds=()), "upper") == pytest.approx(part(caught, "upper"), rel=1e-6)


def test_a_hose_above_the_cap_can_never_be_full():
    fill = static_fill(layout("a", lines__upper__high_z=1.2, lines__upper__length=1.6))
    upper = [cavity for cavity in fill.cavities if cavity.place == "lines.upper"]
    assert sum(cavity.gas for cavity in upper) > 0.3 * sum(cavity.capacity for cavity in upper)


def test_a_shut_heater_keeps_its_air():
    car = _with_heater(layout("a"))
    shut = car.with_value("fill.heater_open", False)
    assert part(static_fill(car), "heater") < 0.02
    assert static_fill(shut).air["heater"] == pytest.approx(0.3 * LITRE, rel=1e-9)
    heater = next(cavity for cavity in static_fill(shut).cavities if cavity.name == "heater")
    assert heater.reason is Reason.CUT_OFF


def _with_heater(car):
    from sim1d.car import build_car

    data = car.to_file()
    data["heater"] = {"x": 0.9, "z": 0.70}
    data["lines"]["heater_feed"] = {"from": "engine.right.rear", "to": "heater.inlet", "bore": 0.016, "length": 0.5}
    data["lines"]["heater_return"] = {"from": "heater.outlet", "to": "pump.suction", "bore": 0.016, "length": 1.5}
    return build_car(data)


def test_vacuum_leaves_the_residual_share():
    """Drawn to 6.3 kPa abs before coolant comes in: what is left is (6.3 - 2.3)/(101.3 - 2.3) of the whole inside,
    pressed to ambient (derived); a full vacuum leaves vapour, which condenses."""
    car = layout("c")
    circuit = car.volume
    fill = static_fill(car, vacuum=95e3)
    share = (101325 - 95e3 - 2339) / (101325 - 2339)
    assert fill.trapped == pytest.approx(share * circuit, rel=0.02)
    assert static_fill(car, vacuum=1e5).trapped < 0.01 * LITRE
    assert fill.trapped < 0.2 * static_fill(car).trapped


def test_filled_at_a_high_place_layout_c_takes_more():
    car = layout("c")
    assert static_fill(car, at="outlet_y").trapped < 0.3 * static_fill(car).trapped
    better = other_manners(car)
    assert better and better[0].trapped < 0.1 * static_fill(car).trapped
    assert [one.trapped for one in better] == sorted(one.trapped for one in better)
    best = better[0]
    again = static_fill(car, at=best.at, nose_up=best.nose_up, bleeds=best.bleeds)
    assert again.trapped == best.trapped
    assert other_manners(layout("a")) == ()


@pytest.mark.parametrize(
    ("values", "word", "fix"),
    [
        ({"fill.at": "radiator.inlett"}, "fill.at", "radiator.inlet"),
        ({"fill.bleeds": ["uper"]}, "fill.bleeds", "bleed_screw"),
    ],
)
def test_unknown_places_are_refused_with_advice(values, word, fix):
    car = layout("a").with_values(values)
    with pytest.raises(DescriptionError) as caught:
        static_fill(car)
    (problem,) = caught.value.problems
    assert problem.where == word and fix in problem.fix


def test_the_same_car_gives_the_same_fill():
    car = layout("c")
    assert static_fill(car) == static_fill(layout("c"))
    assert remaining_air(car) == remaining_air(layout("c"))


# What the purge leaves ------------------------------------------------------------------------------------------


def test_layout_a_is_empty_of_air_after_its_procedure():
    assert remaining_air(layout("a")) == {}


def test_layout_c_keeps_air_in_the_rear_of_its_heads():
    """The flow is least at the dead end of the gallery: front cylinders clear, the last ones keep what stands above the
    lower edge of the gallery (0.3 L x 37.5/115 mm = 0.098 L each, by hand)."""
    left = remaining_air(layout("c"))
    assert set(left) == {f"engine.{bank}-{i}.head" for bank in ("left", "right") for i in (3, 4)}
    for bank in ("left", "right"):
        assert left[f"engine.{bank}-4.head"] / LITRE == pytest.approx(0.3 * (0.115 - 0.0775) / 0.115, rel=1e-6)
    assert 0.1 < sum(left.values()) / LITRE < 1.0


def test_more_speed_leaves_less_and_no_speed_leaves_all():
    car = layout("c")
    left = [sum(remaining_air(car.with_value("fill.purge_speed", speed)).values()) for speed in (0, 150, 260, 370, 780)]
    assert left == sorted(left, reverse=True)
    assert left[-1] < 0.02 * LITRE
    still = static_fill(car)
    assert left[0] == pytest.approx(still.trapped, rel=0.01)
    assert sum(remaining_air(car.with_value("fill.heat_cycles", 0)).values()) == pytest.approx(left[0], rel=1e-9)


def test_too_little_pump_is_locked_by_the_air():
    """0.15 m of air in the downhill upper hose hold rho g h = 1.4 kPa; at 70 rad/s the pump gives 1.1 kPa."""
    slow = purge(layout("c", fill__purge_speed=70.0))
    assert slow.lock == pytest.approx(998.2 * 9.80665 * (0.71 - 0.558), rel=0.1)
    assert slow.locked and slow.remaining == pytest.approx(static_fill(layout("c")).air, rel=0.01)
    assert not purge(layout("c")).locked


def test_the_band_encloses_its_middle_and_top_ups_add_up():
    found = purge(layout("c"))
    for place, most in found.most.items():
        assert found.least.get(place, 0.0) <= found.remaining.get(place, 0.0) + 1e-12 <= most + 2e-12
    fill = static_fill(layout("c"))
    gone = fill.trapped - sum(found.remaining.values())
    assert sum(found.top_ups) - sum(found.released) == pytest.approx(gone, rel=1e-6)
    verdicts = {one.name: one.verdict.name for one in found.pockets}
    assert verdicts["engine.left-1.head"] == "SURELY" and verdicts["engine.left-4.head"] == "NEVER"


def test_pump_at_rest_adds_no_pressure_and_running_it_adds_more_towards_its_outlet():
    car = layout("a")
    still = running(car, 0.0)
    assert still.found and max(abs(value) for value in still.rise.values()) < 5.0
    rise = running(car, 785.4).rise
    order = ("pump.suction", "radiator.outlet", "radiator.inlet", "engine.left-4.head", "pump.discharge")
    values = [rise[name] for name in order]
    assert values == sorted(values)
    assert rise["expansion_tank"] == pytest.approx(0.0, abs=10.0)
    # teed there: what the vents bring to the tank comes back by the fill line, and its drop is all that is left
    assert -6e3 < rise["pump.suction"] < 0.0


def test_air_out_of_solution():
    """12 L of water: 18.7 mL/L at 20 degC less 11.4 x 53.9/101.3 at 80 degC under its vapour: 0.16 L at 20 degC
    (recalled handbook values, Henry)."""
    first, second = released_air(layout("a"), 12e-3, 2)
    by_hand = 12 * (18.7 * 99.0 / 101.3 - 11.4 * (101.3 - 47.4) / 101.3) * 293.15 / 273.15
    assert first * 1e6 == pytest.approx(by_hand, rel=0.05)
    assert second == pytest.approx(first / 2)


def test_it_is_quick():
    """A simulation asks for it at its start: well under a second, warm (on a shared machine)."""
    car = layout("c")
    remaining_air(car)
    began = time.perf_counter()
    remaining_air(car)
    assert time.perf_counter() - began < 1.0


@pytest.mark.parametrize("name", ["layout_a", "layout_b"])
def test_the_run_starts_with_the_gas_of_the_fill(name):
    """Cold gas of tank and vents, and coolant, of the packed car against the static fill (Dalton: less the vapour)."""
    car, day = load_car(example_path(name)), load_day(example_path("race_day"))
    fill = static_fill(car)
    hanging = [cavity for cavity in fill.cavities if cavity.reason is Reason.TANK_GAS]
    vents = sum(cavity.gas for cavity in hanging if cavity.name != "expansion_tank")
    assert vents > 3e-5 and hanging_gas(car) == pytest.approx(vents, rel=1e-6)
    packed, full = prepared(car, day), pack(car, day, trapped_air=remaining_air(car))
    liquid = packed.model.liquid
    vapour = np.interp(day.sealed_at, liquid.temperature, liquid.vapour_pressure)
    volume = packed.model.pocket.air[0] * AIR_GAS_CONSTANT * day.sealed_at / (day.ambient_pressure - vapour)
    assert volume == pytest.approx(sum(cavity.gas for cavity in hanging), rel=1e-6)
    density = np.interp(day.sealed_at, liquid.temperature, liquid.density)
    assert full.coolant_filled - packed.coolant_filled == pytest.approx(density * vents, rel=1e-6)

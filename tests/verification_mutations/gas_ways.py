"""Mistakes in where gas stands and which ways it can take."""

from .mutation import LOST, SIGN, SWAPPED, Mutation

GAS = "sim1d/pack_air.py"

GAS_WAYS = (
    Mutation(
        "gas_of_the_tank_with_vapour", GAS, 'place(index[build.vessel["node"]], max((pressure - vapour) * volume',
        'place(index[build.vessel["node"]], max((pressure + vapour) * volume', SIGN,
        "Dalton: gas of the tank when it was sealed",
    ),
    Mutation(
        "trapped_air_not_held", GAS, 'row["held"] += volume', 'row["held"] -= volume', SIGN,
        "what the fill left stands above every way out",
    ),
    Mutation(
        "rise_by_the_wrong_end", GAS, "math.copysign(COUNTER * area * speed, z_b - z_a)",
        "math.copysign(COUNTER * area * speed, z_a - z_b)", SIGN, "bubbles rise to the higher end",
    ),
    Mutation(
        "sag_lets_gas_through", GAS, "trap = lowest < min(z_a, z_b) - LEVEL", "trap = lowest > min(z_a, z_b) - LEVEL",
        SIGN, "a sag of standing coolant holds gas back",
    ),
    Mutation(
        "ways_down_swapped", GAS, "down_ab=down(z_a, z_b), down_ba=down(z_b, z_a)",
        "down_ab=down(z_b, z_a), down_ba=down(z_a, z_b)", SWAPPED,
        "flow that leads down must be fast to take gas along",
    ),
    Mutation(
        "clearing_without_margin", GAS, "return SAFETY * float(clearing_speed(bore, slope, 1.0))",
        "return float(clearing_speed(bore, slope, 1.0))", LOST, "published clearing speeds carry a factor of 1.1",
    ),
    Mutation(
        "gasket_share_lost", GAS, "share=car.head_gasket.permanent_share)", "share=1.0)", LOST,
        "steam of the combustion gas condenses",
    ),
)  # fmt: skip

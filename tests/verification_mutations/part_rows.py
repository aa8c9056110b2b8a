"""Mistakes in the rows of pumps, tank, cap, hoses and radiator."""

from .mutation import FACTOR, LOST, SIGN, SWAPPED, Mutation

MACHINE = "sim1d/parts/machine_rows.py"
PLUMBING = "sim1d/parts/plumbing_rows.py"
RADIATOR = "sim1d/parts/radiator_rows.py"
BUILD = "sim1d/build.py"
VOLUMES = "tests/system/test_volumes.py"
HALF_A_CELL = (f"{VOLUMES}::test_a_port_takes_half_a_cell_of_its_hose",)

PART_ROWS = (
    Mutation(
        "best_point", MACHINE, "best = pump.runout / math.sqrt(3.0)  # flow", "best = pump.runout / 3.0  # flow",
        FACTOR, "flow of most hydraulic power of a quadratic curve",
    ),
    Mutation(
        "pump_without_loss", MACHINE, "* best / pump.efficiency", "* best * pump.efficiency", SWAPPED,
        "shaft power is hydraulic power over efficiency",
    ),
    Mutation(
        "stopped_pump_loss", MACHINE, "pump.reference_density / (2 * area**2)", "pump.reference_density / (2 * area)",
        FACTOR, "stopped impeller as a resistance",
    ),
    Mutation(
        "suction_constant", MACHINE, "pump.suction_head / speed**2", "pump.suction_head / speed", FACTOR,
        "suction head needed at another speed",
    ),
    Mutation(
        "wiring_is_the_motor", MACHINE, "constant = pump.rated_voltage * (1.0 - pump.resistance_share)",
        "constant = pump.rated_voltage * (1.0 + pump.resistance_share)", SIGN,
        "constant of a motor from its rated point",
    ),
    Mutation(
        "wiring_lost", MACHINE, "pump.rated_voltage / pump.rated_current + pump.wiring_resistance",
        "pump.rated_voltage / pump.rated_current", LOST, "wiring takes voltage away",
    ),
    Mutation(
        "no_load_torque", MACHINE, "scale = (1 - NO_LOAD) * torque / hydraulic", "scale = torque / hydraulic", LOST,
        "a motor's own friction is part of its rated torque",
    ),
    Mutation(
        "cap_never_reseats", MACHINE, "reseat=cap.reseat_share * cap.opens", "reseat=cap.reseat_share * cap.ramp",
        SWAPPED, "a cap reseats at a share of its opening pressure",
    ),
    Mutation(
        "cap_by_its_radius", MACHINE, "area=math.pi / 4 * cap.seat_bore**2", "area=math.pi * cap.seat_bore**2", FACTOR,
        "area of a cap's seat",
    ),
    Mutation(
        "full_bottle_at_the_start", MACHINE, "bottle=recovery.liquid if", "bottle=recovery.volume if", SWAPPED,
        "what the recovery tank holds at the start",
    ),
    Mutation(
        "reference_flow_in_litres", MACHINE, "reference_flow=part.reference_flow * 970.0",
        "reference_flow=part.reference_flow", LOST, "reference flow of an exchanger is a mass flow",
    ),
    Mutation(
        "tank_lump_at_the_top", MACHINE, "liquid=tank.liquid - LEAST_LIQUID", "liquid=tank.liquid + LEAST_LIQUID", SIGN,
        "coolant of the tank is counted once",
    ),
    Mutation(
        "throat_on_the_bore", PLUMBING, "sudden_expansion(ratio)) / ratio**4", "sudden_expansion(ratio)) / ratio**2",
        FACTOR, "loss of a throat on the speed in the bore",
    ),
    Mutation(
        "fittings_the_wrong_way", PLUMBING, "forward = both + sum(fitting.forward for",
        "forward = both + sum(fitting.reverse for", SWAPPED, "a fitting resists by the way the coolant goes",
    ),
    Mutation(
        "collapse_by_thickness", PLUMBING, "(line.wall_thickness / radius) ** 3 / 3.0",
        "(line.wall_thickness / radius) ** 2 / 3.0", FACTOR, "a tube under suction goes flat by (t/R)^3",
    ),
    Mutation(
        "hose_gives_by_length", PLUMBING, "compliance=stretch * volume", "compliance=stretch * length", LOST,
        "give of a hose is its relative growth times its volume",
    ),
    Mutation(
        "reverse_without_meeting", PLUMBING, "k_reverse=reverse + meeting", "k_reverse=reverse", LOST,
        "a hose loses at the tee where it meets others, both ways",
    ),
    Mutation(
        "thermostat_bleed", PLUMBING, "leak = (thermostat.bleed_hole / thermostat.bore) ** 2",
        "leak = thermostat.bleed_hole / thermostat.bore", FACTOR, "a bleed hole counts by its area",
    ),
    Mutation(
        "insulation_ignored", PLUMBING, "if not line.insulated:", "if line.insulated:", SWAPPED,
        "a bare hose loses heat, an insulated one does not",
    ),
    Mutation(
        "passes_of_a_core", RADIATOR, "length = passes * radiator.tube_length", "length = radiator.tube_length", LOST,
        "coolant runs the length of every pass",
    ),
    Mutation(
        "ports_on_the_tube_speed", RADIATOR, "k += loss * (through / (math.pi / 4 * ports[end].bore ** 2)) ** 2",
        "k += loss * (through / (math.pi / 4 * ports[end].bore ** 2))", FACTOR,
        "loss of the ports on the speed in the tubes",
    ),
    Mutation(
        "core_metal_of_fins", RADIATOR, "fin_total / 2 * fins.thickness", "fin_total * fins.thickness", FACTOR,
        "a fin has two sides and one thickness",
    ),
    Mutation(
        "tubes_of_a_pass", RADIATOR, "tube_flow_area=count / passes * tubes.area", "tube_flow_area=count * tubes.area",
        LOST, "coolant shares the tubes of one pass",
    ),
    Mutation(
        "air_drop_fit", RADIATOR, "linear = max(slow - quadratic * FIT_SPEEDS[0], 1e-2)",
        "linear = max(slow + quadratic * FIT_SPEEDS[0], 1e-2)", SIGN, "drop of the air fitted by a u + b u^2",
    ),
    Mutation(
        "failed_fan_works", RADIATOR, "runs = fan is not None and not fan.failed", "runs = fan is not None", LOST,
        "a failed fan does not run",
    ),
    Mutation(
        "still_core", RADIATOR, "still=still / 2", "still=still", FACTOR,
        "natural convection of a radiator is shared by core and tanks",
    ),
    Mutation(
        "port_takes_a_whole_cell", BUILD, "share = 0.5 / (cells + 0.5 * len(bare))",
        "share = 1.0 / (cells + 0.5 * len(bare))", FACTOR, "a bare port takes half a cell of its hose", HALF_A_CELL,
    ),
    Mutation(
        "hose_keeps_what_the_port_took", BUILD, "inside = 1.0 - share * len(bare)", "inside = 1.0", LOST,
        "what the ports took is not in the hose any more", HALF_A_CELL,
    ),
    Mutation(
        "housing_holds_more_than_it_has", "sim1d/parts/thermostat.py", '"outlet": (1.0 - BEFORE) * volume',
        '"outlet": BEFORE * volume', FACTOR, "coolant of a housing stands before its element or behind it",
        (f"{VOLUMES}::test_lumps_hold_what_the_car_holds",),
    ),
    Mutation(
        "pump_holds_twice", "sim1d/parts/pump.py", '"discharge": self.volume / 2', '"discharge": self.volume', FACTOR,
        "half the coolant of a pump stands behind its impeller", (f"{VOLUMES}::test_lumps_hold_what_the_car_holds",),
    ),
)  # fmt: skip

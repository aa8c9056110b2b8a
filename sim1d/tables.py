"""The tables that the kernels read: one numpy dtype each, one line per field with its unit.

`pack` fills them once from the descriptions; nothing downstream knows a name or a unit other than SI. An index field of
-1 means "none". Every array is viewed as np.recarray, so that `branch.diameter` reads the same compiled and uncompiled.
"""

import numpy as np

BRANCH = np.dtype(
    [
        ("start", "i8"),  # index of the junction it leaves
        ("end", "i8"),  # index of the junction it enters
        ("length", "f8"),  # m, developed length for wall friction (0: none)
        ("diameter", "f8"),  # m, hydraulic diameter of one path
        ("area", "f8"),  # m2, flow area of one path
        ("count", "f8"),  # 1, equal parallel paths (tubes of a core, holes of a gasket)
        ("roughness", "f8"),  # m, sand-grain roughness of the wall
        ("friction_multiplier", "f8"),  # 1, on wall friction (convoluted bore 2, calibrated core)
        ("laminar_constant", "f8"),  # 1, f Re of the laminar duct (64 round, 96 parallel plates)
        ("k_forward", "f8"),  # 1, sum of loss coefficients on loss_area for flow from start to end
        ("k_reverse", "f8"),  # 1, the same for flow from end to start (check valve: large)
        ("loss_area", "f8"),  # m2, area of one path that the loss coefficients refer to
        ("creeping", "f8"),  # 1/m3, dp = creeping * viscosity * (volume flow of one path): 24/d^3 for a hole
        ("pump", "i8"),  # row of PUMP that acts in this branch, or -1
        ("valve", "i8"),  # row of VALVE that scales the loss coefficients, or -1
        ("cell_first", "i8"),  # first coolant cell (node) that lies inside, or -1
        ("cell_count", "i8"),  # number of cells inside, in order from start to end
    ]
)

JUNCTION = np.dtype(
    [
        ("x", "f8"),  # m, rearward of the front face of the crank pulley
        ("z", "f8"),  # m, above ground
        ("inflow", "f8"),  # kg/s, fixed supply from outside (0 on a car; used by hand-built networks)
        ("fixed", "i8"),  # 1: pressure is given (ground of the network), 0: solved
        ("pressure", "f8"),  # Pa relative to the ground's zero, where fixed
    ]
)

PUMP = np.dtype(
    [
        ("electric", "i8"),  # 0: driven at a given speed, 1: direct-current motor at a given voltage
        ("speed", "f8"),  # rad/s at which the curve is given
        ("density", "f8"),  # kg/m3 at which the curve is given
        ("shutoff", "f8"),  # Pa, pressure rise at zero flow and reference speed
        ("linear", "f8"),  # Pa s/m3, >= 0: rise = shutoff - linear Q - quadratic Q|Q| at reference speed
        ("quadratic", "f8"),  # Pa s2/m6, > 0
        ("stopped", "f8"),  # Pa s2/m6, resistance of the stopped impeller at reference density: dp = stopped Q|Q|
        ("torque_constant", "f8"),  # N m s2 (rad/s)^-2: shaft torque = torque_constant w^2 + torque_slope w Q
        ("torque_slope", "f8"),  # N m s2 / m3
        ("motor_constant", "f8"),  # V s = N m/A (electric only)
        ("resistance", "f8"),  # ohm (electric only)
        ("no_load_torque", "f8"),  # N m, constant friction (electric only)
        ("drag", "f8"),  # N m s, speed-proportional friction (electric only)
        ("suction_head_constant", "f8"),  # m/(rad/s)^2: required net positive suction head = constant w^2
    ]
)

VALVE = np.dtype(
    [
        ("node", "i8"),  # node whose temperature moves it (thermostat), or -1: always open
        ("opens", "f8"),  # K, begins to open
        ("full", "f8"),  # K, fully open
        ("leak", "f8"),  # 1, share of the full flow area that stays open when shut (> 0)
        ("invert", "i8"),  # 1: closes on warming (a bypass foot), 0: opens
    ]
)

STATION = np.dtype(
    [
        ("branch", "i8"),  # gallery branch that carries the momentum change between two stations
        ("before", "i8"),  # gallery branch before the start station, or -1 (dead end)
        ("after", "i8"),  # gallery branch after the end station, or -1 (dead end)
        ("theta", "f8"),  # 1, p_end - p_start = -theta rho/2 (W_end^2 - W_start^2): 1 no loss, 2 momentum kept
        ("area", "f8"),  # m2, area of the gallery
    ]
)

LIQUID = (
    np.dtype(  # rows on a uniform grid of temperature: properties of the liquid, and of its vapour at that saturation
        [
            ("temperature", "f8"),  # K
            ("density", "f8"),  # kg/m3
            ("enthalpy", "f8"),  # J/kg, zero at 273.15 K, the integral of specific_heat
            ("specific_heat", "f8"),  # J/(kg K)
            ("viscosity", "f8"),  # Pa s
            ("conductivity", "f8"),  # W/(m K)
            ("vapour_pressure", "f8"),  # Pa absolute
            ("surface_tension", "f8"),  # N/m
            ("latent_heat", "f8"),  # J/kg of the vapour that forms (water)
            ("vapour_density", "f8"),  # kg/m3 of saturated vapour
            ("vapour_viscosity", "f8"),  # Pa s
            ("vapour_conductivity", "f8"),  # W/(m K)
            ("natural_group", "f8"),  # K^-1/6 m^-1/2, see physics/groups.py for this and the rest
            ("prandtl_rise", "f8"),  # 1, Pr^(2/3) - 1
            ("boiling_group", "f8"),  # of Forster and Zuber's law, SI
            ("pool_flux", "f8"),  # W/m2, critical at rest
            ("pool_gain", "f8"),  # 1/K of subcooling
            ("flow_flux", "f8"),  # W/m2, critical at 1 m/s in 1 m
            ("flow_gain", "f8"),  # 1/K of subcooling
        ]
    )
)

BY_ENTHALPY = np.dtype([("enthalpy", "f8"), ("temperature", "f8")])  # uniform grid of liquid enthalpy, J/kg -> K
BY_PRESSURE = np.dtype([("log_pressure", "f8"), ("temperature", "f8")])  # uniform grid of ln(Pa absolute) -> K

NODE = np.dtype(  # lumps of coolant: first the junctions of the network (same order), then the cells inside branches
    [
        ("mass", "f8"),  # kg of coolant held (fixed: swell is counted in the tank)
        ("volume", "f8"),  # m3, cold
        ("growth", "f8"),  # 1/K, thermal growth of the enclosing volume (three times the linear expansion)
        ("compliance", "f8"),  # m3/Pa, elastic growth of the walls
        ("filled", "f8"),  # Pa absolute, local pressure when it was filled: the walls count as unstretched there
        ("x", "f8"),  # m rearward
        ("z", "f8"),  # m above ground
        ("ambient", "f8"),  # W/K to still air
        ("ambient_moving", "f8"),  # 1/(m/s), relative growth of that loss with car speed
        ("lag", "i8"),  # row of LAG (steam share felt by the flow), or -1
    ]
)

LAG = np.dtype([("node", "i8")])  # nodes whose steam changes weight and resistance of the flow through them

METAL = np.dtype(
    [
        ("capacity", "f8"),  # J/K
        ("ambient", "f8"),  # W/K to still air
        ("ambient_moving", "f8"),  # 1/(m/s)
        ("friction_heat", "f8"),  # W at rated speed and load: oil, piston and valve heat, radiated by the headers
    ]
)

LINK = np.dtype([("a", "i8"), ("b", "i8"), ("conductance", "f8")])  # two metals, W/K

FACE = np.dtype(  # wetted faces
    [
        ("metal", "i8"),  # cell of metal at the wall
        ("node", "i8"),  # coolant node it wets
        ("area", "f8"),  # m2
        ("half", "f8"),  # m2 K/W from the cell's centre to the face
        ("branch", "i8"),  # branch whose flow sets the speed
        ("flow_area", "f8"),  # m2 of the passage that the flow of that branch fills
        ("speed_factor", "f8"),  # 1, local speed over passage mean
        ("diameter", "f8"),  # m, hydraulic diameter
        ("length", "f8"),  # m, heated length for the entry factor
        ("slenderness", "f8"),  # 1, diameter over length
        ("entry", "f8"),  # 1, that factor
        ("still", "f8"),  # m^-1/2, what of natural convection hangs on the length
        ("flow_size", "f8"),  # diameter as the flow law of the critical flux takes it, m^-0.312
        ("enhancement", "f8"),  # 1, on the single-phase coefficient (roughness, undeveloped flow)
        ("pool_factor", "f8"),  # 1, on the pool critical heat flux (orientation)
        ("flow_factor", "f8"),  # 1, on the flow critical heat flux
        ("boiling_factor", "f8"),  # 1, on the nucleate flux (mixture degradation)
        ("dry", "i8"),  # row among the dry-share states, or -1: cannot go dry in the model
        ("cylinder", "i8"),  # cylinder it belongs to, or -1
    ]
)

GAS_FACE = np.dtype(  # faces heated by the working gas
    [
        ("metal", "i8"),  # cell of metal at the face
        ("conductance", "f8"),  # W/K of the gas film at rated speed, load and boost
        ("half", "f8"),  # K/W from the cell's centre to the face
        ("gas_temperature", "f8"),  # K, effective
        ("cylinder", "i8"),
        ("spot", "i8"),  # 0 chamber roof, 1 exhaust bridge, 2 exhaust port, 3 liner
    ]
)

POCKET = np.dtype(  # places where gas can stand; the first is the tank's, or that of the cap when there is no tank
    [
        ("node", "i8"),
        ("air", "f8"),  # kg at the start
        ("dead", "f8"),  # m3 of gas below which the cap above it sits on liquid
        ("held", "f8"),  # m3 of dome above every way out: gas that only a fast flow drags down and out
        ("area", "f8"),  # m2, cross-section of the place, for the speed that clears the dome
        ("clears", "f8"),  # m/s in that section that clears the dome
    ]
)

AIR_WAY = np.dtype(  # a branch as bubbles see it; from the pocket at its start to the pocket at its end
    [
        ("a", "i8"),
        ("b", "i8"),
        ("branch", "i8"),
        ("area", "f8"),  # m2, all paths
        ("down_ab", "f8"),  # m/s that drags gas from a to b (0: it rises or stays level by itself)
        ("down_ba", "f8"),  # m/s, the same from b to a
        ("rise", "f8"),  # m3/s of gas that rises through standing coolant, positive from a to b
        ("spill", "f8"),  # m3/s that it can spill; of that a full place pushes out a part, see `air.pushed_out`
        ("x", "f8"),  # m and
        ("z", "f8"),  # m: the tank's opening, where b is the tank
        ("bore", "f8"),  # m of that opening
    ]
)

LEAK = np.dtype([("pocket", "i8"), ("share", "f8")])  # a leaking cylinder: where its gas goes, share that stays gas
LEAK_CURVE = np.dtype(  # uniform grid: Pa absolute in the manifold -> kg a cycle at rated speed
    [("pressure", "f8"), ("mass", "f8")]
)

COLLAPSE = np.dtype(  # soft hoses that suction can flatten
    [("branch", "i8"), ("suction", "f8"), ("width", "f8")]  # Pa below ambient at which it begins, Pa until flat
)

CAP = np.dtype(
    [
        ("node", "i8"),
        ("pocket", "i8"),  # gas space it opens into
        ("area", "f8"),  # m2 of the open seat
        ("discharge", "f8"),  # 1
        ("opening", "f8"),  # Pa gauge
        ("ramp", "f8"),  # Pa from first opening to full lift
        ("reseat", "f8"),  # Pa gauge at which it begins to shut again, on the way down the same ramp
        ("vacuum", "f8"),  # Pa below ambient at which the vacuum valve opens
        ("snaps", "f8"),  # Pa gauge that shuts a weighted vacuum valve (0: a sprung one, shut at rest)
        ("recovery", "f8"),  # m3 that a recovery tank holds and gives back (0: lost overboard)
    ]
)

CORE = np.dtype(  # cells of a heat exchanger to air
    [
        ("node", "i8"),
        ("metal", "i8"),
        ("radiator", "i8"),
        ("share", "f8"),  # 1, share of the core
    ]
)

RADIATOR = np.dtype(
    [
        ("branch", "i8"),  # core branch
        ("face_area", "f8"),  # m2
        ("air_area", "f8"),  # m2 fins and tubes
        ("fin_share", "f8"),  # 1, fin area over air_area
        ("fin_half_height", "f8"),  # m
        ("fin_thickness", "f8"),  # m
        ("fin_conductivity", "f8"),  # W/(m K)
        ("louver_pitch", "f8"),  # m
        ("louver_factor", "f8"),  # 1, j Re^0.49 of the louvered fin (constant of the geometry)
        ("free_share", "f8"),  # 1, free flow area over face area
        ("air_factor", "f8"),  # 1, on the air-side coefficient (rated data, fouling)
        ("tube_area", "f8"),  # m2 wetted inside
        ("tube_flow_area", "f8"),  # m2 per pass
        ("tube_diameter", "f8"),  # m hydraulic
        ("tube_length", "f8"),  # m per pass
        ("tube_slenderness", "f8"),  # 1, diameter over length
        ("tube_entry", "f8"),  # 1, entry factor
        ("drop_linear", "f8"),  # Pa s/m, drop of the air = linear u + quadratic u^2 on face speed
        ("drop_quadratic", "f8"),  # Pa s2/m2
        ("fan_pressure", "f8"),  # Pa at no flow
        ("fan_flow", "f8"),  # m3/s at no pressure
        ("fan_works", "f8"),  # 1, or 0: it stands whatever is switched on
        ("ram", "f8"),  # 1, net ram pressure coefficient
        ("system_loss", "f8"),  # 1, loss coefficient of grille and bay on face velocity
        ("still", "f8"),  # W/K to still air
    ]
)

EXCHANGER = np.dtype(  # coolant to a lump on the other side (heater, oil cooler, ice tank)
    [("node", "i8"), ("metal", "i8"), ("conductance", "f8"), ("branch", "i8"), ("reference_flow", "f8")]
)

SENSOR = np.dtype(
    [
        ("node", "i8"),
        ("x", "f8"),
        ("z", "f8"),
        ("time_constant", "f8"),  # s, first order
        ("pressure", "i8"),  # 1: it reads pressure (Pa gauge), 0: temperature (K)
    ]
)

CUT = np.dtype([("sensor", "i8"), ("filter", "f8")])  # controller filters (s), first order, on a sensor's reading

SYSTEM = np.dtype(  # one row: what belongs to the whole car and day
    [
        ("ambient_pressure", "f8"),  # Pa absolute
        ("ambient_temperature", "f8"),  # K
        ("fill_temperature", "f8"),  # K
        ("vessel", "i8"),  # node whose liquid store changes: the tank, or the node under the cap
        ("tie", "i8"),  # junction that the tank's fill line reaches, or -1
        ("tank_volume", "f8"),  # m3, liquid and gas (0 without a tank)
        ("tank_base", "f8"),  # m
        ("tank_area", "f8"),  # m2
        ("store", "f8"),  # kg of liquid in the tank at the start
        ("rated_speed", "f8"),  # rad/s of the engine
        ("rated_pressure", "f8"),  # Pa absolute, manifold
        ("idle_pressure", "f8"),  # Pa absolute, manifold at no load
        ("film_collapse", "f8"),  # K, wall temperature below which a dry face wets again
        ("donor_width", "f8"),  # kg/s over which the corner of a reversing flow is rounded
        ("void_lag", "f8"),  # s
        ("tank_x", "f8"),  # m, middle of the tank
        ("tank_length", "f8"),  # m along the car
        ("tank_height", "f8"),  # m
        ("circuit_volume", "f8"),  # m3 of coolant, for the air dissolved in it
        ("release_time", "f8"),  # s, air out of hot coolant
        ("absorb_speed", "f8"),  # m/s, air into coolant through the surface that touches gas
    ]
)

PHASE = np.dtype(  # one stretch of the day between two jumps; every pair is the value at its start and end
    [
        ("start", "f8"),
        ("end", "f8"),
        ("speed", "f8", (2,)),  # rad/s, engine
        ("load", "f8", (2,)),  # 1, share of the rated manifold pressure
        ("car_speed", "f8", (2,)),  # m/s
        ("acceleration", "f8", (2,)),  # m/s2, positive when the car speeds up
        ("voltage", "f8"),
        ("electric_pump", "f8"),  # 1 on, 0 off
        ("fan", "f8"),  # 0..1
    ]
)

DRIVE = np.dtype([("pump", "i8"), ("ratio", "f8")])  # belt: pump row and shaft speed over engine speed


def rows(dtype: np.dtype, count: int) -> np.recarray:
    """A table of `count` zeroed rows; fields that hold an index start at -1."""
    table = np.zeros(count, dtype=dtype).view(np.recarray)
    for name in dtype.names or ():
        if dtype[name].kind == "i" and name in INDEX_FIELDS:
            table[name] = -1
    return table


INDEX_FIELDS = {
    *(
        "start",
        "end",
        "pump",
        "valve",
        "cell_first",
        "node",
        "branch",
        "before",
        "after",
        "lag",
        "a",
        "b",
        "metal",
        "dry",
    ),
    *("cylinder", "spot", "pocket", "radiator", "vessel", "tie", "sensor"),
}

"""States and moments at which the kernels and the slow twin are compared. Every number is made up; none is a result."""

import numpy as np

from sim1d import tables

AIR_CONSTANT = 287.05  # J/(kg K)


def moment(
    *, speed=(0.0, 0.0), load=(0.0, 0.0), car_speed=(0.0, 0.0), acceleration=(0.0, 0.0), fan=0.0, electric=0.0
) -> np.record:
    """A PHASE record of two seconds; every pair is the value at its start and end."""
    row = tables.rows(tables.PHASE, 1)[0]
    row.start, row.end, row.voltage = 0.0, 2.0, 13.5
    row.speed, row.load, row.car_speed, row.acceleration = speed, load, car_speed, acceleration
    row.fan, row.electric_pump = fan, electric
    return row


IDLE = moment(speed=(210.0, 210.0), load=(0.1, 0.2), fan=1.0, electric=1.0)
PASS = moment(speed=(640.0, 780.0), load=(1.0, 1.0), car_speed=(0.0, 40.0), acceleration=(29.0, 25.0), electric=1.0)
COAST = moment(speed=(250.0, 200.0), car_speed=(90.0, 80.0), acceleration=(-14.0, -10.0))
SOAK = moment()


class Case:
    """A state in the making: every method changes it and returns it."""

    def __init__(self, packed):
        self.packed, self.model, self.at = packed, packed.model, packed.model.layout
        self.state = packed.start.copy()
        self.random = np.random.default_rng(20)

    # Coolant and metal ------------------------------------------------------------------------------------------------

    def read(self, column: str, temperature) -> np.ndarray:
        """A column of the liquid table at a temperature (K)."""
        liquid = self.model.liquid
        return np.interp(temperature, liquid.temperature, liquid[column])

    @property
    def vessel_mass(self) -> float:
        """kg that takes part at the vessel, by the formula of docs/explanation/model.md section 2."""
        lump = self.model.node[self.model.system[0].vessel].mass
        x, width = lump + self.state[self.at.store] - 0.2 * lump, 0.2 * lump
        return width + (0.0 if x <= -width else x if x >= width else (x + width) ** 2 / (4 * width))

    def coolant(self, temperature: float, scatter: float = 0.0) -> "Case":
        """Coolant at a temperature (K), every lump off by a random share of `scatter` K."""
        n = self.at.lag - self.at.enthalpy
        self.hot = temperature + scatter * self.random.uniform(-1.0, 1.0, n)
        return self.heat()

    def heat(self) -> "Case":
        """Write the temperatures into the state; again after a change of the store."""
        self.state[self.at.enthalpy : self.at.lag] = self.read("enthalpy", self.hot)
        self.state[self.at.enthalpy + self.model.system[0].vessel] *= self.vessel_mass
        return self

    def metal(self, temperature: float, scatter: float = 0.0) -> "Case":
        """Metal likewise."""
        n = self.at.dry - self.at.metal
        self.state[self.at.metal : self.at.dry] = temperature + scatter * self.random.uniform(-1.0, 1.0, n)
        return self

    def steam(self, most: float) -> "Case":
        """Random steam shares as the flow feels them."""
        n = self.at.metal - self.at.lag
        self.state[self.at.lag : self.at.metal] = self.random.uniform(0.0, most, n)
        return self

    def dry(self) -> "Case":
        """Random dry shares."""
        self.state[self.at.dry : self.at.air] = self.random.uniform(0.0, 1.0, self.at.air - self.at.dry)
        return self

    def boiling(self, place: str, quality: float, pressure: float) -> "Case":
        """Coolant that holds `quality` of steam by mass in one lump when it stands under a pressure (Pa absolute)."""
        node = self.packed.points.index(place)
        saturation = np.interp(pressure, self.model.liquid.vapour_pressure, self.model.liquid.temperature)
        h = self.read("enthalpy", saturation) + quality * self.read("latent_heat", saturation)
        self.state[self.at.enthalpy + node] = h
        return self

    # Gas and what it does ---------------------------------------------------------------------------------------------

    def pressurise(self, gas: float, pressure: float) -> "Case":
        """About `gas` m3 of gas at about `pressure` (Pa absolute) in the first gas space: sets store and air."""
        system, node = self.model.system[0], self.model.node
        rho, vapour = self.read("density", self.hot), self.read("vapour_pressure", self.hot)
        room = system.tank_volume + np.sum(node.volume * (1.0 + node.growth * (self.hot - system.fill_temperature)))
        room += np.sum(node.compliance * (pressure - node.filled)) - gas
        pockets = self.model.pocket.node
        part = pressure - vapour[pockets]
        own = self.state[self.at.air + 1 : self.at.store]
        room -= np.sum(own * AIR_CONSTANT * self.hot[pockets[1:]] / part[1:])
        self.state[self.at.store] = (room - np.sum(node.mass / rho)) * rho[system.vessel]
        self.state[self.at.air] = gas * part[0] / (AIR_CONSTANT * self.hot[pockets[0]])
        return self.heat()

    def store(self, kg: float) -> "Case":
        """Another store of the vessel, its temperature kept."""
        self.state[self.at.store] = kg
        return self.heat()

    def bottle(self, kg: float) -> "Case":
        """Coolant in the recovery tank."""
        self.state[self.at.ledger + 7] = kg
        return self

    def sensors(self, temperature: float, gauge: float) -> "Case":
        """What thermometers (K) and pressure sensors (Pa gauge) show, and a tenth less behind the filters."""
        shown = np.where(self.model.sensor.pressure == 1, gauge, temperature)
        self.state[self.at.sensor : self.at.cut] = shown
        self.state[self.at.cut : self.at.ledger] = 0.9 * shown[self.model.cut.sensor]
        return self

    def gas(self, place: str, share: float, pressure: float) -> "Case":
        """Gas that takes `share` of the lump of a place when it stands under a pressure (Pa absolute)."""
        node = self.packed.points.index(place)
        k = list(self.model.pocket.node).index(node)
        dry = pressure - self.read("vapour_pressure", self.hot[node])
        volume = share * self.model.node.volume[node]
        self.state[self.at.air + k] = dry * volume / (AIR_CONSTANT * self.hot[node])
        return self

    def gas_everywhere(self, most: float, pressure: float) -> "Case":
        """Random shares of gas, up to `most`, in all places but the first; every fifth holds none."""
        for k, node in list(enumerate(self.model.pocket.node))[1:]:
            share = 0.0 if k % 5 == 3 else most * self.random.uniform()
            self.gas(self.packed.points[node], share, pressure)
        return self

    def displaced(self, volume: float) -> "Case":
        """m3 that stands in the tank for gas and steam."""
        self.state[self.at.displaced] = volume
        return self

    def dissolved(self, concentration: float) -> "Case":
        """kg of air in a m3 of coolant."""
        self.state[self.at.dissolved] = concentration * self.model.system[0].circuit_volume
        return self

    def lift(self, share: float) -> "Case":
        """Lift of the pressure valves."""
        self.state[self.at.lift : self.at.grip] = share
        return self

    def pumps(self, grip: float, lost: float) -> "Case":
        """Head that the pumps keep, and how far they have lost their prime."""
        self.state[self.at.grip : self.at.prime] = grip
        self.state[self.at.prime : self.at.collapse] = lost
        return self

    def flat(self, share: float) -> "Case":
        """How flat the soft hoses are."""
        self.state[self.at.collapse : self.at.sensor] = share
        return self


def opening(packed) -> float:
    """Pa absolute at which the cap begins to open."""
    return packed.model.cap[0].opening + packed.model.system[0].ambient_pressure


def reseating(packed) -> float:
    """Pa absolute at which the cap is shut again."""
    return packed.model.cap[0].reseat + packed.model.system[0].ambient_pressure


def cold(packed):
    """The day's own start."""
    return Case(packed).state, IDLE, 0.0


def hot(packed):
    """Running hot in a pass: launch acceleration, boost, ram air."""
    case = Case(packed).coolant(360.0, 8.0).metal(400.0, 60.0).steam(0.02).sensors(340.0, 9e4)
    return case.pressurise(6e-4, 2.0e5).state, PASS, 0.9


def coast(packed):
    """Closed throttle, fast, braking."""
    return Case(packed).coolant(365.0, 5.0).metal(390.0, 40.0).state, COAST, 1.2


def soak(packed):
    """Engine and pump stopped: buoyancy alone."""
    return Case(packed).coolant(362.0, 6.0).metal(385.0, 20.0).state, SOAK, 0.5


def boiling(packed):
    """Steam in one head and, less, in the next lump; the flow already feels it."""
    case = Case(packed).coolant(372.0, 6.0).metal(430.0, 40.0).steam(0.4).pressurise(5e-4, 1.9e5)
    case.boiling("engine.left-2.head", 0.02, 2.5e5).boiling("engine.left-2.gallery", 0.006, 2.5e5)
    return case.state, PASS, 1.7


def dry(packed):
    """Faces past their critical heat flux, some of them hotter than the film's collapse."""
    case = Case(packed).coolant(370.0, 8.0).metal(500.0, 70.0).dry().steam(0.8).pressurise(6e-4, 2.1e5)
    return case.state, PASS, 0.4


def cap_liquid(packed):
    """Cap open with almost no gas under it: mostly liquid passes, and the valve still rises."""
    dead = packed.model.pocket[0].dead
    case = Case(packed).coolant(358.0, 3.0).metal(380.0, 20.0).pressurise(0.3 * dead, opening(packed) + 8e3)
    return case.lift(0.02).state, IDLE, 0.5


def cap_gas(packed):
    """Cap open over gas with its vapour, hot; the valve is higher than it opened and falls."""
    case = Case(packed).coolant(376.0, 3.0).metal(390.0, 20.0).pressurise(3e-4, reseating(packed) + 5e3)
    return case.lift(0.8).state, SOAK, 0.5


def cap_between(packed):
    """Pressure between reseating and opening: the valve stays where it was left and goes on passing."""
    middle = 0.5 * (opening(packed) + reseating(packed))
    case = Case(packed).coolant(362.0, 3.0).metal(380.0, 20.0).pressurise(4e-4, middle)
    return case.lift(0.12).state, SOAK, 0.5


def cap_last(packed):
    """The last gas under an open cap: it leaves slower and slower."""
    case = Case(packed).coolant(360.0, 3.0).metal(380.0, 20.0).pressurise(2.5e-7, opening(packed) + 3e3)
    return case.lift(0.3).state, SOAK, 0.5


def hanging(packed):
    """Just above ambient, pushed out by swell: a weighted valve still hangs half open, a sprung one is shut."""
    ambient = packed.model.system[0].ambient_pressure
    case = Case(packed).coolant(318.0, 4.0).metal(322.0, 4.0)
    return case.pressurise(6e-4, ambient + 3.2e3).state, SOAK, 0.5


def drawing(packed):
    """A little below ambient: a weighted valve draws, a sprung one does not yet."""
    ambient = packed.model.system[0].ambient_pressure
    case = Case(packed).coolant(306.0, 4.0).metal(308.0, 4.0)
    return case.pressurise(5e-4, ambient - 2.0e3).state, SOAK, 0.5


def vacuum(packed):
    """Cooled down below ambient: the vacuum valve draws, the last of the bottle where there is one."""
    ambient = packed.model.system[0].ambient_pressure
    case = Case(packed).coolant(310.0, 4.0).metal(312.0, 4.0)
    return case.pressurise(4e-4, ambient - 6.2e3).bottle(0.011).state, SOAK, 0.5


def short(packed):
    """More coolant gone than the tank held: its lump is nearly empty."""
    lump = packed.model.node[packed.model.system[0].vessel].mass
    return Case(packed).coolant(355.0, 5.0).metal(380.0, 30.0).store(-0.75 * lump).state, IDLE, 1.0


def starved(packed):
    """Far more gone: the circuit stands under vacuum and the vessel at its least mass."""
    return Case(packed).coolant(330.0, 5.0).metal(350.0, 30.0).store(-0.6).state, SOAK, 1.0


def icy(packed):
    """Water about its greatest density, where its expansion changes sign; all stopped."""
    return Case(packed).coolant(277.0, 3.0).metal(281.0, 5.0).state, SOAK, 0.5


def bubbles(packed):
    """Gas in many places, swept through by a running pump, some over-full, one with its last; coolant takes air up."""
    case = Case(packed).coolant(355.0, 6.0).metal(390.0, 30.0).steam(0.02).gas_everywhere(0.97, 2.0e5)
    case.gas("outlet_y", 2e-4, 1.8e5)
    return case.pressurise(7e-4, 1.8e5).displaced(6e-4).dissolved(4e-3).state, PASS, 1.1


def rising(packed):
    """The same at rest, less of it: bubbles rise, domes hold, thermometers stand half in gas.

    One place holds a little less than none, as an integration may leave it.
    """
    case = Case(packed).coolant(350.0, 4.0).metal(360.0, 8.0).sensors(345.0, 2e4).gas_everywhere(0.5, 1.4e5)
    case.gas("outlet_y", -1e-5, 1.4e5)
    return case.pressurise(8e-4, 1.4e5).displaced(3e-4).dissolved(8e-3).state, SOAK, 0.7


def gassy(packed):
    """A running pump with 6 % of gas at its suction, half of its prime gone; supersaturated coolant gives air off."""
    case = Case(packed).coolant(365.0, 3.0).metal(395.0, 20.0).gas("pump.suction", 0.066, 1.2e5)
    return case.pressurise(6e-4, 1.2e5).pumps(0.7, 0.4).dissolved(0.045).state, IDLE, 1.3


def regaining(packed):
    """A pump that had lost its prime gets nearly solid coolant again, but little suction head."""
    case = Case(packed).coolant(362.0, 3.0).metal(395.0, 20.0).gas("pump.suction", 0.0135, 1.15e5)
    return case.pressurise(6e-4, 1.15e5).pumps(0.05, 0.9).state, PASS, 1.8


def uncovered(packed):
    """Launch: the tilted surface runs across a lower port that lies ahead of the tank's middle, and gas is drawn in."""
    case = Case(packed).coolant(345.0, 3.0).metal(370.0, 20.0).pressurise(7.4e-4, 1.3e5)
    return case.displaced(4e-5).state, PASS, 0.6


def low(packed):
    """Braking with next to no liquid in the tank: a port at its middle is half bare."""
    case = Case(packed).coolant(345.0, 3.0).metal(370.0, 20.0).pressurise(1.9e-3, 1.3e5)
    return case.displaced(4e-5).state, COAST, 1.4


def flattened(packed):
    """Soft hoses sucked half flat, on their way to another shape."""
    case = Case(packed).coolant(340.0, 4.0).metal(360.0, 20.0).pressurise(7e-4, 1.02e5)
    return case.flat(0.6).state, PASS, 0.8


STATES = dict(
    cold=cold, icy=icy, hot=hot, coast=coast, soak=soak, boiling=boiling, dry=dry, cap_liquid=cap_liquid,
    cap_gas=cap_gas, cap_between=cap_between, cap_last=cap_last, hanging=hanging, drawing=drawing, vacuum=vacuum,
    short=short, starved=starved, bubbles=bubbles, rising=rising, gassy=gassy, regaining=regaining,
    uncovered=uncovered, low=low, flattened=flattened,
)  # fmt: skip

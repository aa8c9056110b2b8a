"""The flow solver from any start: one answer, balanced, obeying every law, in every awkward state of a circuit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sim1d.core.branch_laws import laws
from sim1d.core.handle import handle
from sim1d.core.hydraulics import CLOSE, network_tables, solve_flows, workspace
from sim1d.tables import BRANCH, JUNCTION, PUMP, STATION, rows


def solve(network, density, viscosity, drive, state, opening, start):
    """(converged, flow, pressure, iterations, speeds, powers, currents) from one start value."""
    flow = np.array(start, dtype=float)
    pressure = np.zeros(len(network.junction))
    out = [np.zeros(len(network.pump)) for _ in range(3)]
    converged, iterations, _ = solve_flows(
        handle(network), density, viscosity, drive, state, np.ones(len(network.pump)), opening, flow, pressure, *out,
        CLOSE, handle(workspace(network)),
    )  # fmt: skip
    return converged, flow, pressure, iterations, *out


def random_network(seed):
    """A connected network: hoses, holes, check valves, nearly shut valves, pumps standing and running, drives."""
    rng = np.random.default_rng(seed)
    n = int(rng.integers(2, 35))
    ends = [(int(rng.integers(0, j)), j) for j in range(1, n)]
    for _ in range(int(rng.integers(0, 20))):
        a, b = rng.choice(n, 2, replace=False)
        ends.append((int(a), int(b)))
    m = len(ends)
    junction = rows(JUNCTION, n)
    junction.fixed[0] = 1
    if rng.random() < 0.4:
        other = int(rng.integers(0, n))
        junction.fixed[other], junction.pressure[other] = 1, rng.normal() * 3e4
    branch = rows(BRANCH, m)
    branch.start, branch.end = np.array(ends).T
    branch.diameter = 10.0 ** rng.uniform(-2.5, -1.4, m)
    branch.area = branch.loss_area = np.pi / 4 * branch.diameter**2
    branch.count = np.where(rng.random(m) < 0.1, 40, 1)
    branch.length = np.where(rng.random(m) < 0.7, rng.uniform(0.05, 3.0, m), 0.0)
    branch.roughness = branch.diameter * 10.0 ** rng.uniform(-6, -1.5, m)
    branch.friction_multiplier, branch.laminar_constant = 1.0, rng.choice([64.0, 90.0], m)
    branch.k_forward = 10.0 ** rng.uniform(-1, 2, m)
    branch.k_reverse = branch.k_forward * np.where(rng.random(m) < 0.1, 1e5, 1.0)
    branch.creeping = np.where(branch.length == 0.0, 24.0 / branch.diameter**3, 0.0)
    pumps = int(rng.integers(0, min(4, m + 1)))
    pump = rows(PUMP, pumps)
    pump.speed, pump.density, pump.shutoff = 600.0, 1000.0, 10.0 ** rng.uniform(4, 5.5, pumps)
    pump.linear, pump.quadratic = rng.choice([0.0, 1e7], pumps), 10.0 ** rng.uniform(9, 11, pumps)
    pump.stopped = pump.quadratic * 10.0 ** rng.uniform(-0.5, 2, pumps)
    pump.torque_constant, pump.torque_slope, pump.electric = 3e-6, 1e-3, rng.integers(0, 2, pumps)
    pump.motor_constant, pump.resistance, pump.no_load_torque = 0.0125, 0.08, 0.03
    branch.pump[rng.permutation(m)[:pumps]] = np.arange(pumps)
    state = np.where(pump.electric == 1, rng.choice([0.0, 1.0, 13.0], pumps), rng.choice([0.0, 5.0, 900.0], pumps))
    drive = rng.normal(size=m) * 10.0 ** rng.uniform(-1, 4.5) * (rng.random() < 0.7)
    opening = np.where(rng.random(m) < 0.1, 1e4, 1.0)
    network = network_tables(branch, junction, pump, rows(STATION, 0))
    density, viscosity = np.full(m, rng.uniform(300.0, 1000.0)), np.full(m, 10.0 ** rng.uniform(-3.5, -1.7))
    return network, density, viscosity, drive, state, opening


def imbalance(network, flow):
    """Missing mass flow (kg/s) at every junction whose pressure is not given."""
    missing = network.junction.inflow.copy()
    np.subtract.at(missing, network.branch.start, flow)
    np.add.at(missing, network.branch.end, flow)
    return missing[network.junction.fixed == 0]


def law_error(network, density, viscosity, drive, state, opening, flow, pressure):
    """Of any branch: misfit between its law and the pressures at its ends as a flow (kg/s), and the least slope."""
    loss, slope = np.zeros(len(flow)), np.zeros(len(flow))
    laws(handle(network), density, viscosity, state, np.ones(len(network.pump)), opening, flow, loss, slope)
    push = pressure[network.branch.start] - pressure[network.branch.end]
    return np.abs((loss - drive - push) / slope).max(), slope.min()


@settings(max_examples=150, deadline=None)
@given(st.integers(0, 10**6))
def test_one_answer_from_any_start(seed):
    case = random_network(seed)
    network = case[0]
    m = len(network.branch)
    rng = np.random.default_rng(seed)
    starts = [np.full(m, 0.1), np.zeros(m), rng.normal(size=m) * 10.0 ** rng.uniform(-6, 2), np.full(m, np.nan)]
    found = [solve(*case, start) for start in starts]
    assert all(result[0] for result in found)
    flow, pressure = found[0][1], found[0][2]
    error, least = law_error(*case, flow, pressure)
    # 1e-9 of the largest flow, 1e-9 kg/s, and what round-off of the pressures moves the easiest branch
    slack = 1e-9 * np.abs(flow).max() + 1e-9 + 30 * np.finfo(float).eps * np.abs(pressure).max() / least
    assert error < slack
    for result in found[1:]:
        np.testing.assert_allclose(result[1], flow, rtol=0, atol=slack)
    assert np.abs(imbalance(network, flow)).max(initial=0.0) < slack


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6))
def test_warm_start_gives_the_same_answer_at_once(seed):
    case = random_network(seed)
    first = solve(*case, np.full(len(case[0].branch), 0.1))
    again = solve(*case, first[1])
    assert again[3] <= 6  # 1 or 2, and up to three more where only round-off is left
    least = law_error(*case, *first[1:3])[1]
    slack = 1e-9 * np.abs(first[1]).max() + 1e-9 + 30 * np.finfo(float).eps * np.abs(first[2]).max() / least
    np.testing.assert_allclose(again[1], first[1], rtol=0, atol=slack)


def gallery(n, a, b, z_type, friction, flow=1.0, area=5e-4, density=1000.0):
    """Dividing and combining header of `n` laterals with zeta k = 1, so that theta is `a` and `b`; numbers of laterals.

    `friction` is the linear resistance of a header segment in Pa s/kg.
    """
    junction = rows(JUNCTION, 2 * n + 2)
    junction.fixed[2 * n + 1] = 1
    junction.inflow[2 * n] = flow
    headers = [(2 * n, 0)] + [(i, i + 1) for i in range(n - 1)]
    combining = [(n + i, n + i + 1) if z_type else (n + i + 1, n + i) for i in range(n - 1)]
    ends = headers + combining + [(2 * n - 1 if z_type else n, 2 * n + 1)] + [(i, n + i) for i in range(n)]
    branch = rows(BRANCH, len(ends))
    branch.start, branch.end = np.array(ends).T
    branch.count = branch.friction_multiplier = 1.0
    branch.laminar_constant = 64.0
    branch.area = branch.loss_area = area
    branch.creeping = friction * density / 7e-4
    branch.area[2 * n :] = branch.loss_area[2 * n :] = area / n
    branch.k_forward[2 * n :] = branch.k_reverse[2 * n :] = 1.0
    branch.diameter = np.sqrt(4 * branch.area / np.pi)
    dividing = [0, *range(1, n), -1]
    chain = [-1, *range(n, 2 * n - 1), 2 * n - 1] if z_type else [-1, *range(2 * n - 2, n - 1, -1), 2 * n - 1]
    station = rows(STATION, 2 * (n - 1))
    for k in range(n - 1):
        station[k] = (dividing[k + 1], dividing[k], dividing[k + 2], a, area)
        station[n - 1 + k] = (chain[k + 1], chain[k], chain[k + 2], b, area)
    return network_tables(branch, junction, rows(PUMP, 0), station), range(2 * n, 3 * n)


def lateral_flows(n, a, b, z_type, friction=1e-4, start=None):
    """Flow of every lateral over the mean, and whether the solver converged."""
    network, laterals = gallery(n, a, b, z_type, friction)
    m = len(network.branch)
    case = (network, np.full(m, 1000.0), np.full(m, 7e-4), np.zeros(m), np.zeros(0), np.ones(m))
    converged, flow, *_ = solve(*case, np.full(m, 0.1) if start is None else start)
    return converged, flow[list(laterals)] * n


@pytest.mark.parametrize(
    ("z_type", "expected"),
    [
        pytest.param(False, (1.14524, 1.01896, 0.93776, 0.89804), id="U type, four laterals, derived"),
        pytest.param(True, (0.82741, 0.91456, 1.04216, 1.21587), id="Z type, four laterals, derived"),
    ],
)
def test_four_cylinders_on_a_gallery(z_type, expected):
    converged, v = lateral_flows(4, 0.2, 0.9, z_type)
    assert converged
    np.testing.assert_allclose(v, expected, atol=1e-5)


@pytest.mark.parametrize("z_type", [False, True])
def test_gallery_converges_to_the_closed_form_with_second_order(z_type):
    """Closed forms of `physics.galleries` at mid-lateral places; the error falls by 4 for each doubling."""
    from sim1d.physics.galleries import u_type_flow, z_type_flow

    law = z_type_flow if z_type else u_type_flow
    errors = []
    for n in (4, 8, 16, 32):
        converged, v = lateral_flows(n, 0.2, 0.9, z_type)
        assert converged
        exact = [law((i + 0.5) / n, 0.2, 0.9) for i in range(n)]
        errors.append(np.abs(v - exact).max())
    assert errors[0] < 4e-3
    ratios = np.array(errors[:-1]) / np.array(errors[1:])
    assert np.all((ratios > 3.5) & (ratios < 4.2))


@pytest.mark.parametrize("z_type", [False, True])
def test_thousand_laterals_are_the_closed_form(z_type):
    """Derived oracle: within 1e-6 of the closed form at n = 1000."""
    from sim1d.physics.galleries import u_type_flow, z_type_flow

    law = z_type_flow if z_type else u_type_flow
    converged, v = lateral_flows(1000, 0.2, 0.9, z_type, friction=1e-7)
    assert converged
    np.testing.assert_allclose(v, [law((i + 0.5) / 1000, 0.2, 0.9) for i in range(1000)], atol=1e-6)


def test_balanced_z_gallery_is_linear():
    """a = b: exactly linear, 0.85 to 1.15 at a = 0.3, already on the discrete network."""
    converged, v = lateral_flows(12, 0.3, 0.3, True)
    assert converged
    np.testing.assert_allclose(v, 1 + 0.3 * ((np.arange(12) + 0.5) / 12 - 0.5), atol=2e-4)


@pytest.mark.parametrize(("a", "b"), [(1.0, 3.0), (3.0, 1.0), (5.0, 10.0), (0.3, 20.0)])
@pytest.mark.parametrize("z_type", [False, True])
def test_strong_gallery_momentum_still_has_one_answer(a, b, z_type):
    """Holes far too wide for their gallery (reversed laterals): same flows from six starts."""
    rng = np.random.default_rng(7)
    m = len(gallery(6, a, b, z_type, 0.1)[0].branch)
    found = [lateral_flows(6, a, b, z_type, 0.1, rng.normal(size=m) * 10.0 ** rng.uniform(-3, 2)) for _ in range(6)]
    assert all(converged for converged, _ in found)
    for _, v in found[1:]:
        np.testing.assert_allclose(v, found[0][1], atol=1e-8)


def test_gallery_keeps_the_direction_of_its_members_apart():
    """Drawing the inlet branch the other way round changes no flow."""
    network, laterals = gallery(4, 0.2, 0.9, True, 1e-4)
    branch = network.branch.copy()
    branch.start[0], branch.end[0] = network.branch.end[0], network.branch.start[0]
    turned = network_tables(branch, network.junction, network.pump, network.station)
    m = len(branch)
    flow = solve(turned, np.full(m, 1000.0), np.full(m, 7e-4), np.zeros(m), np.zeros(0), np.ones(m), np.full(m, 0.1))[1]
    assert flow[0] == pytest.approx(-1.0)
    np.testing.assert_allclose(flow[list(laterals)] * 4, lateral_flows(4, 0.2, 0.9, True)[1], atol=1e-8)


def test_all_that_is_wrong_is_said_at_once():
    network, _ = gallery(3, 0.2, 0.9, True, 1e-4)
    branch, junction, station = network.branch.copy(), network.junction.copy(), network.station.copy()
    branch.area[1], branch.end[2], branch.k_forward[3] = 0.0, 99, -1.0
    station.after[0] = 6
    with pytest.raises(ValueError) as error:
        network_tables(branch, junction, network.pump, station)
    for part in ("branch 1: area", "branch 2 runs", "branch 3: k_forward", "station 0"):
        assert part in str(error.value)
    junction.fixed[:] = 0
    with pytest.raises(ValueError, match="not connected to any fixed pressure"):
        network_tables(network.branch, junction, network.pump, network.station)

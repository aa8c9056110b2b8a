"""Closed-form transients: what the integrated model must reproduce where a hand solution exists. K, s, SI."""

import math

from sim1d._jit import kernel


@kernel
def lumped(time, start, end, time_constant):
    """First-order step response, T_end + (T_start - T_end) e^(-t/tau)."""
    return end + (start - end) * math.exp(-time / time_constant)


@kernel
def ramp_lag(time, rate, time_constant):
    """How far a first-order sensor trails a ramp of `rate` per s begun at t = 0: r tau (1 - e^(-t/tau))."""
    return rate * time_constant * (1.0 - math.exp(-time / time_constant))


@kernel
def biot_root(biot, index):
    """Root number `index` (0, 1, ...) of z sin z = Bi cos z, in (n pi, n pi + pi/2); bisection to the last digit."""
    low = index * math.pi
    high = low + 0.5 * math.pi
    sign = 1.0 if index % 2 == 0 else -1.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        if sign * (middle * math.sin(middle) - biot * math.cos(middle)) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


@kernel
def slab_flux_convection(time, depth, thickness, flux, coefficient, conductivity, diffusivity, terms):
    """Rise (K) over the coolant of a slab heated by `flux` at depth 0 and cooled by h at its back, cold at t = 0.

    q (L-x)/k + q/h - (q L/k) Sum 4 cos(z x/L) e^(-z^2 Fo) / (z (2 z + sin 2 z)), z sin z = Bi cos z. Separation of
    variables (derived; agrees with a finite-volume solution). 40 terms suffice for Fo > 0.002.
    """
    place = depth / thickness
    fourier = diffusivity * time / (thickness * thickness)
    biot = coefficient * thickness / conductivity
    total = 0.0
    for index in range(terms):
        root = biot_root(biot, index)
        weight = 4.0 / (root * (2.0 * root + math.sin(2.0 * root)))
        total += weight * math.cos(root * place) * math.exp(-root * root * fourier)
    return flux * (thickness - depth) / conductivity + flux / coefficient - flux * thickness / conductivity * total


@kernel
def slab_cooling(time, depth, thickness, coefficient, conductivity, diffusivity, terms):
    """Excess over its first value of a slab, adiabatic at depth 0 and with convection at its back.

    Carslaw and Jaeger (recalled): Sum C cos(z x/L) e^(-z^2 Fo), C = 4 sin z/(2 z + sin 2 z).
    """
    place = depth / thickness
    fourier = diffusivity * time / (thickness * thickness)
    biot = coefficient * thickness / conductivity
    total = 0.0
    for index in range(terms):
        root = biot_root(biot, index)
        weight = 4.0 * math.sin(root) / (2.0 * root + math.sin(2.0 * root))
        total += weight * math.cos(root * place) * math.exp(-root * root * fourier)
    return total


@kernel
def semi_infinite_flux(time, depth, flux, conductivity, diffusivity):
    """Rise (K) in a thick wall under a constant surface flux from t = 0 (Incropera and DeWitt eq. 5.59, recalled)."""
    length = math.sqrt(diffusivity * time)
    reach = depth / (2.0 * length)
    wave = 2.0 * length / math.sqrt(math.pi) * math.exp(-reach * reach)
    return flux / conductivity * (wave - depth * math.erfc(reach))


@kernel
def two_nodes(time, heat, first_capacity, second_capacity, between, outside, sink):
    """Temperatures (K) of two masses in a row, heated by `heat` W at the first, cooled at the second, from `sink`.

    C1 T1' = Q - G12 (T1-T2), C2 T2' = G12 (T1-T2) - G2 (T2-Ts). Eigenvalues of the 2 x 2 matrix, in closed form.
    """
    trace = between / first_capacity + (between + outside) / second_capacity
    product = between * outside / (first_capacity * second_capacity)
    root = math.sqrt(trace * trace - 4.0 * product)
    slow = 0.5 * (-trace + root)
    fast = 0.5 * (-trace - root)
    second_steady = heat / outside
    first_steady = second_steady + heat / between
    # each mode has T2 = (1 + lambda C1 / G12) T1; both start from rest at the sink
    slow_ratio = 1.0 + slow * first_capacity / between
    fast_ratio = 1.0 + fast * first_capacity / between
    slow_part = (second_steady - fast_ratio * first_steady) / (fast_ratio - slow_ratio)
    fast_part = -first_steady - slow_part
    slow_now = slow_part * math.exp(slow * time)
    fast_now = fast_part * math.exp(fast * time)
    first = sink + first_steady + slow_now + fast_now
    return first, sink + second_steady + slow_ratio * slow_now + fast_ratio * fast_now


@kernel
def isolated_pair(time, first, second, first_capacity, second_capacity, conductance):
    """Temperature (K) of the first of two masses that only exchange heat with each other."""
    mean = (first_capacity * first + second_capacity * second) / (first_capacity + second_capacity)
    constant = first_capacity * second_capacity / ((first_capacity + second_capacity) * conductance)
    return lumped(time, first, mean, constant)


@kernel
def mixed_tank(time, start, inlet, volume, flow):
    """Temperature (K) of a stirred tank after a step of its inlet; volume m3, flow m3/s."""
    return lumped(time, start, inlet, volume / flow)


@kernel
def plug_delay(volume, flow):
    """Time (s) that a slug needs through a hose, V/Q."""
    return volume / flow


@kernel
def cell_row(time, delay, cells):
    """Step response (0 to 1) of a hose cut into n mixed cells: the gamma distribution P(n, n t/tau), n whole.

    Erlang's sum 1 - e^-x Sum_0^(n-1) x^k/k!, n to 300.
    """
    scaled = cells * time / delay
    term = math.exp(-scaled)
    total = 0.0
    for index in range(cells):
        total += term
        term *= scaled / (index + 1.0)
    return 1.0 - total


@kernel
def dry_spot_rise(flux, radius, conductivity, thickness):
    """Steady rise (K) over its rim of the middle of a dry disc in a plate heated by `flux`, q a^2/(4 k d) (derived)."""
    return flux * radius * radius / (4.0 * conductivity * thickness)

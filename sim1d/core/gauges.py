"""Pressure sensors and the filters of controllers: carried along a step exactly, as nothing depends on them."""

import math

from sim1d._jit import kernel
from sim1d.core.sparse import copy


@kernel
def followed(old, start, end, h, time_constant):
    """State of a first-order lag after `h` s, from `old`, its input going straight from `start` to `end`: exact."""
    slope = (end - start) / h
    left = math.exp(-h / time_constant)
    return end - slope * time_constant + (old - start + slope * time_constant) * left


@kernel
def straight(k, state, h, step):
    """Rate of state `k` at both ends of the step: that of the straight line, so that nothing overshoots between."""
    step.rate[k] = (step.trial[k] - state[k]) / h
    step.moved[k] = step.rate[k]


@kernel
def gauges(state, h, model, work, step):
    """Pressure sensors and the filters of controllers at the end of a step of `h` s, into `step.trial`.

    A sensor follows in milliseconds what hangs on the level, which the sparse Jacobian leaves out: the stepper would
    have to crawl. Nothing depends on a sensor, so it is carried along exactly instead, its input straight over the
    step; so is a filter, on what its sensor shows.
    """
    layout = model.layout
    for s in range(len(model.sensor)):
        if model.sensor[s].pressure == 1:
            k = layout.sensor + s
            step.trial[k] = followed(state[k], step.sensed[s], work.sensed[s], h, model.sensor[s].time_constant)
            straight(k, state, h, step)
    for c in range(len(model.cut)):
        k, s = layout.cut + c, layout.sensor + model.cut[c].sensor
        step.trial[k] = followed(state[k], state[s], step.trial[s], h, model.cut[c].filter)
        straight(k, state, h, step)
    copy(step.sensed, work.sensed)

"""A cheap model with a closed form, in place of the simulation: so that the tests of the batch machinery take no time.

Its numbers are algebra, not physics. Some settings make a point fail, die, or take long.
"""

import hashlib
import os
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sim1d import DescriptionError, Outcome, Problem, units
from studies.batch import Evaluation

DEFAULTS: dict[str, Any] = {
    "pump.ratio": 1.0,
    "lines.upper.size": "dash 16",
    "lines.lower.size": "dash 16",
    "radiator.mount_height": 0.6,
    "radiator.core_passes": 1,
    "idle": 0,  # decides nothing
}


def draw_shares(samples: int, seed: int) -> np.ndarray:
    """One share of 0 to 1 in each of `samples` equal parts, in an order that hangs on the seed."""
    return np.random.default_rng(seed).permutation((np.arange(samples) + 0.5) / samples)


@dataclass(frozen=True)
class CheapModel:
    """`fails`, `dies`: pump ratios at which a point raises or kills its process; `pause`: seconds per point."""

    gain: float = 1.0
    pause: float = 0.0
    fails: tuple[float, ...] = ()
    dies: tuple[float, ...] = ()
    sources: str = "cheap sources"
    boils: float = 2.0
    lost: float = -1.0

    def values(self, settings) -> dict[str, Any]:
        found = dict(DEFAULTS)
        for path, value in dict(settings).items():
            if isinstance(value, dict):
                found.update({f"{path}.{key}": inner for key, inner in value.items()})
                continue
            if path not in found:
                raise DescriptionError([Problem(path, "is no value of the car", "name one that is")])
            found[path] = value
        for path in ("lines.upper.size", "lines.lower.size"):
            try:
                found[path] = units.LineSize.read(found[path]).bore
            except units.BadValue as wrong:
                raise DescriptionError([Problem(path, wrong.what, wrong.fix)]) from None
        height = found["radiator.mount_height"]
        found["radiator.mount_height"] = 0.0254 * units.split(height)[0] if isinstance(height, str) else height
        if isinstance(found["pump.ratio"], str) or not 0.1 <= found["pump.ratio"] <= 3.0:
            raise DescriptionError([Problem("pump.ratio", f"{found['pump.ratio']} is out of range", "0.1 to 3")])
        return found

    def evaluate(self, settings: Mapping[str, Any]) -> Evaluation:
        time.sleep(self.pause)
        values = self.values(settings)
        ratio, height = values["pump.ratio"], values["radiator.mount_height"]
        if ratio in self.dies:
            os._exit(9)
        if ratio in self.fails:
            raise ZeroDivisionError("no flow at this ratio")
        flow = self.gain * ratio * values["lines.upper.size"] ** 2 * values["lines.lower.size"] ** 2
        metal = 480.0 + 1e-5 / flow + 10.0 * height
        summary = {
            "outcome": Outcome.COMPLETED.value,
            "notes": [],
            "peak_metal_temperature_K": {"left-1": metal, "right-1": metal + 3.0 * height},
            "peak_gauge_pressure_Pa": {"pump.suction": 1e4 * height, "engine.left.front": 1e5 * ratio},
            "pass_bank_flow_m3_s": {"left": flow, "right": 0.9 * flow},
            "pass_bank_spread": 0.1 / 0.95,
            "least_suction_margin_m": {"pump": 4.0 * height - ratio},
            "time_to_ready_s": None if ratio > 1.3 else 100.0 / ratio,
            "rounds": [{}],
        }
        return Evaluation(Outcome.COMPLETED.value, summary, self.fingerprint(settings))

    def evaluate_draws(self, settings, draws):
        """Draw k multiplies the flow by a share between 0.8 and 1.2; `boils` and `lost`: shares above or below which a
        draw ends early or cannot be computed."""
        for share in draw_shares(draws.samples, draws.seed):
            if share < self.lost:
                yield Evaluation(f"{Outcome.STEP_FAILED.value} (at 1 s)")
                continue
            drawn = replace(self, gain=self.gain * (0.8 + 0.4 * share)).evaluate(settings)
            yield drawn if share <= self.boils else replace(drawn, outcome=f"{Outcome.BOILED_OUT.value} (in pass)")

    def fingerprint(self, settings) -> str:
        used = sorted((path, value) for path, value in self.values(settings).items() if path != "idle")
        return hashlib.blake2b(repr(used).encode(), digest_size=8).hexdigest()

    def reading(self, settings) -> tuple[float, str]:
        value = self.values(settings).get(settings[0][0])
        return (float(value), "m") if isinstance(value, (int, float)) else (float("nan"), "")

    def identity(self) -> dict[str, Any]:
        return {"car": {"gain": self.gain}, "sources": self.sources}

    def limits(self) -> dict[str, float]:
        return {"bank_spread": 0.15}

    def cautions(self) -> tuple[str, ...]:
        return ("Hot coolant scalds.",)

    def source_hash(self) -> str:
        return self.sources

    def warm_up(self) -> None:
        pass


def maker(**fields: Any):
    """What `load_study` takes to build a cheap model in place of a car."""
    return lambda car_file, day_file: CheapModel(**fields)

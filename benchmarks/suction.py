"""The pressure map of the suction side beside an open fluid library asked point by point.

Run: python -m benchmarks.suction
"""

from __future__ import annotations

import time

import numpy as np

from benchmarks import Row
from sumpwright.body.pickup_line import PickupLine, TubeCorner, TubeSection
from sumpwright.oil.model import OilChoice, Pump
from sumpwright.oil.properties import properties_of
from sumpwright.suction.model import SuctionInputs
from sumpwright.suction.solve import FedLine


def _line() -> FedLine:
    line = PickupLine(
        section=TubeSection("round", 0.022, 0.022, 0.0015),
        path=np.array([[0.3, -0.1, -0.107], [0.3, -0.1, -0.04], [0.2, -0.1, -0.02], [0.1, -0.1, 0.03]]),
        corners=(TubeCorner("bend", 0.033), TubeCorner("bend", 0.033)),
        port=np.array([0.1, -0.1, 0.03]),
    )
    inputs = SuctionInputs(
        line=line,
        mouth_diameter=0.032,
        mouth_shape="flush",
        oil=OilChoice("5W-30"),
        pump=Pump(flow=54e-3 / 60, at_speed=7000 / 60, top_speed=7000 / 60),
        relief_returns_to="pan",
        relief_from=None,
        altitude=0.0,
        coldest_start=258.15,
        hot=393.15,
        start_speed=4.0,
        fed_within=8.0,
        least_hot_pressure=80e3,
        least_cold_pressure=55e3,
        roughness=1.5e-6,
        cylinders=4,
    )
    oil = properties_of(inputs.oil)
    assert oil is not None
    return FedLine(inputs, line, oil, np.array([0.0, 0.0, 1.0]), -0.06, 101_325.0, None)


def run() -> list[Row]:
    """Time of the 60 x 60 map against the library's scalar formulas on the same points."""
    from fluids.fittings import Hooper2K
    from fluids.friction import Churchill_1977

    fed = _line()
    fed.map()
    start = time.perf_counter()
    for _ in range(20):
        found = fed.map()
    ours = (time.perf_counter() - start) / 20
    section = fed.line.section
    start = time.perf_counter()
    for temperature in found.temperatures:
        rho = fed.properties.density(float(temperature))
        mu = fed.properties.dynamic_viscosity(float(temperature))
        for speed in found.speeds:
            v = float(fed.demand(speed)) / section.area
            re = rho * v * section.clear_width / mu
            Churchill_1977(re, 1e-4)
            for _ in fed.line.corners:
                Hooper2K(Di=section.clear_width / 0.0254, Re=re, K1=800, Kinfty=0.2)
    reference = time.perf_counter() - start
    return [
        Row(
            work="inlet pressure over 60 x 60 temperatures and speeds",
            ours=ours,
            reference=reference,
            ratio=reference / ours,
            reference_name="an open fluid library, point by point",
            target="under 0.5 s",
        ),
        drawn_up(fed),
    ]


def drawn_up(fed: FedLine) -> Row:
    """Flow of cold oil at sixty fronts along the tube, beside plain halving to the same closeness."""
    temperature, most = 235.0, float(fed.demand(np.asarray(fed.inputs.start_speed)))
    fronts = np.linspace(0.01, float(fed.line.runs().sum()), 60)
    pull = np.linspace(45e3, 40e3, 60)
    start = time.process_time()
    for _ in range(20):
        found = fed.flow_at(pull, temperature, most, fronts)
    ours = (time.process_time() - start) / 20
    start = time.process_time()
    low, high = np.zeros(60), np.full(60, most)
    passes = fed.losses(high, temperature, fronts, False).total <= pull
    for _ in range(34):
        middle = 0.5 * (low + high)
        too_much = fed.losses(middle, temperature, fronts, False).total > pull
        low, high = np.where(too_much, low, middle), np.where(too_much, middle, high)
    reference = time.process_time() - start
    assert np.allclose(found, np.where(passes, most, 0.5 * (low + high)), rtol=0.0, atol=1e-9 * most)
    return Row(
        work="flow of cold oil at sixty fronts",
        ours=ours,
        reference=reference,
        ratio=reference / ours,
        reference_name="34 halvings",
    )


if __name__ == "__main__":
    for row in run():
        print(row)

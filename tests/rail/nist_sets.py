"""NIST StRD nonlinear regression sets: data, model, both published starts, certified answers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

Model = Callable[[np.ndarray, np.ndarray], np.ndarray]


@dataclass(frozen=True)
class NistSet:
    """One set. ``y`` is the observed, ``x`` the predictor."""

    name: str
    level: str
    x: np.ndarray
    y: np.ndarray
    model: Model
    slopes: Model
    starts: tuple[tuple[float, ...], tuple[float, ...]]
    certified: tuple[float, ...]
    rss: float


def _a(*values: float) -> np.ndarray:
    return np.array(values, dtype=np.float64)


def _cols(*columns: np.ndarray) -> np.ndarray:
    return np.stack(np.broadcast_arrays(*columns), axis=1)


MISRA_X = _a(77.6, 114.9, 141.1, 190.8, 239.9, 289.0, 332.8, 378.4, 434.8, 477.3, 536.8, 593.1, 689.1, 760.0)
MISRA_Y = _a(10.07, 14.73, 17.94, 23.93, 29.61, 35.18, 40.02, 44.82, 50.76, 55.05, 61.01, 66.40, 75.47, 81.78)


def _misra1a(b, x):
    return b[0] * (1.0 - np.exp(-b[1] * x))


def _misra1a_slopes(b, x):
    e = np.exp(-b[1] * x)
    return _cols(1.0 - e, b[0] * x * e)


def _misra1b(b, x):
    return b[0] * (1.0 - (1.0 + b[1] * x / 2.0) ** -2)


def _misra1b_slopes(b, x):
    s = 1.0 + b[1] * x / 2.0
    return _cols(1.0 - s**-2, b[0] * x * s**-3)


def _misra1c(b, x):
    return b[0] * (1.0 - (1.0 + 2.0 * b[1] * x) ** -0.5)


def _misra1c_slopes(b, x):
    s = 1.0 + 2.0 * b[1] * x
    return _cols(1.0 - s**-0.5, b[0] * x * s**-1.5)


def _misra1d(b, x):
    return b[0] * b[1] * x / (1.0 + b[1] * x)


def _misra1d_slopes(b, x):
    s = 1.0 + b[1] * x
    return _cols(b[1] * x / s, b[0] * x / s**2)


def _danwood(b, x):
    return b[0] * x ** b[1]


def _danwood_slopes(b, x):
    return _cols(x ** b[1], b[0] * x ** b[1] * np.log(x))


def _three_decays(b, x):
    return b[0] * np.exp(-b[1] * x) + b[2] * np.exp(-b[3] * x) + b[4] * np.exp(-b[5] * x)


def _three_decays_slopes(b, x):
    p, q, r = np.exp(-b[1] * x), np.exp(-b[3] * x), np.exp(-b[5] * x)
    return _cols(p, -b[0] * x * p, q, -b[2] * x * q, r, -b[4] * x * r)


def _mgh17(b, x):
    return b[0] + b[1] * np.exp(-x * b[3]) + b[2] * np.exp(-x * b[4])


def _mgh17_slopes(b, x):
    p, q = np.exp(-x * b[3]), np.exp(-x * b[4])
    return _cols(np.ones_like(x), p, q, -b[1] * x * p, -b[2] * x * q)


def _mgh09(b, x):
    return b[0] * (x**2 + x * b[1]) / (x**2 + x * b[2] + b[3])


def _mgh09_slopes(b, x):
    top, low = x**2 + x * b[1], x**2 + x * b[2] + b[3]
    return _cols(top / low, b[0] * x / low, -b[0] * top * x / low**2, -b[0] * top / low**2)


def _mgh10(b, x):
    return b[0] * np.exp(b[1] / (x + b[2]))


def _mgh10_slopes(b, x):
    e = np.exp(b[1] / (x + b[2]))
    return _cols(e, b[0] * e / (x + b[2]), -b[0] * e * b[1] / (x + b[2]) ** 2)


def _rat42(b, x):
    return b[0] / (1.0 + np.exp(b[1] - b[2] * x))


def _rat42_slopes(b, x):
    e = np.exp(b[1] - b[2] * x)
    return _cols(1.0 / (1.0 + e), -b[0] * e / (1.0 + e) ** 2, b[0] * x * e / (1.0 + e) ** 2)


def _rat43(b, x):
    return b[0] * (1.0 + np.exp(b[1] - b[2] * x)) ** (-1.0 / b[3])


def _rat43_slopes(b, x):
    e = np.exp(b[1] - b[2] * x)
    p = (1.0 + e) ** (-1.0 / b[3])
    inner = -b[0] / b[3] * p * e / (1.0 + e)
    return _cols(p, inner, -x * inner, b[0] * p * np.log(1.0 + e) / b[3] ** 2)


def _eckerle4(b, x):
    return b[0] / b[1] * np.exp(-0.5 * ((x - b[2]) / b[1]) ** 2)


def _eckerle4_slopes(b, x):
    z = (x - b[2]) / b[1]
    e = np.exp(-0.5 * z**2)
    return _cols(e / b[1], b[0] * e * (z**2 - 1.0) / b[1] ** 2, b[0] * e * z / b[1] ** 2)


def _thurber(b, x):
    return (b[0] + b[1] * x + b[2] * x**2 + b[3] * x**3) / (1.0 + b[4] * x + b[5] * x**2 + b[6] * x**3)


def _thurber_slopes(b, x):
    low = 1.0 + b[4] * x + b[5] * x**2 + b[6] * x**3
    f = _thurber(b, x)
    return _cols(1.0 / low, x / low, x**2 / low, x**3 / low, -f * x / low, -f * x**2 / low, -f * x**3 / low)


SETS = (
    NistSet(
        "Misra1a", "lower", MISRA_X, MISRA_Y, _misra1a, _misra1a_slopes,
        ((500.0, 1e-4), (250.0, 5e-4)), (2.3894212918e02, 5.5015643181e-04), 1.2455138894e-01,
    ),
    NistSet(
        "Misra1b", "lower", MISRA_X, MISRA_Y, _misra1b, _misra1b_slopes,
        ((500.0, 1e-4), (300.0, 2e-4)), (3.3799746163e02, 3.9039091287e-04), 7.5464681533e-02,
    ),
    NistSet(
        "DanWood", "lower", _a(1.309, 1.471, 1.490, 1.565, 1.611, 1.680),
        _a(2.138, 3.421, 3.597, 4.340, 4.882, 5.660), _danwood, _danwood_slopes,
        ((1.0, 5.0), (0.7, 4.0)), (7.6886226176e-01, 3.8604055871e00), 4.3173084083e-03,
    ),
    NistSet(
        "Lanczos3", "lower", np.arange(24) * 0.05,
        _a(2.5134, 2.0443, 1.6684, 1.3664, 1.1232, 0.9269, 0.7679, 0.6389, 0.5338, 0.4479, 0.3776, 0.3197,
           0.2720, 0.2325, 0.1997, 0.1723, 0.1493, 0.1301, 0.1138, 0.1000, 0.0883, 0.0783, 0.0698, 0.0624),
        _three_decays, _three_decays_slopes,
        ((1.2, 0.3, 5.6, 5.5, 6.5, 7.6), (0.5, 0.7, 3.6, 4.2, 4.0, 6.3)),
        (8.6816414977e-02, 9.5498101505e-01, 8.4400777463e-01, 2.9515951832e00, 1.5825685901e00,
         4.9863565084e00), 1.6117193594e-08,
    ),
    NistSet(
        "Misra1c", "average", MISRA_X, MISRA_Y, _misra1c, _misra1c_slopes,
        ((500.0, 1e-4), (600.0, 2e-4)), (6.3642725809e02, 2.0813627256e-04), 4.0966836971e-02,
    ),
    NistSet(
        "Misra1d", "average", MISRA_X, MISRA_Y, _misra1d, _misra1d_slopes,
        ((500.0, 1e-4), (450.0, 3e-4)), (4.3736970754e02, 3.0227324449e-04), 5.6419295283e-02,
    ),
    NistSet(
        "MGH17", "average", np.arange(33) * 10.0,
        _a(0.844, 0.908, 0.932, 0.936, 0.925, 0.908, 0.881, 0.850, 0.818, 0.784, 0.751, 0.718, 0.685, 0.658,
           0.628, 0.603, 0.580, 0.558, 0.538, 0.522, 0.506, 0.490, 0.478, 0.467, 0.457, 0.448, 0.438, 0.431,
           0.424, 0.420, 0.414, 0.411, 0.406),
        _mgh17, _mgh17_slopes, ((50.0, 150.0, -100.0, 1.0, 2.0), (0.5, 1.5, -1.0, 0.01, 0.02)),
        (3.7541005211e-01, 1.9358469127e00, -1.4646871366e00, 1.2867534640e-02, 2.2122699662e-02),
        5.4648946975e-05,
    ),
    NistSet(
        "MGH09", "higher", _a(4, 2, 1, 0.5, 0.25, 0.167, 0.125, 0.1, 0.0833, 0.0714, 0.0625),
        _a(0.1957, 0.1947, 0.1735, 0.16, 0.0844, 0.0627, 0.0456, 0.0342, 0.0323, 0.0235, 0.0246),
        _mgh09, _mgh09_slopes, ((25.0, 39.0, 41.5, 39.0), (0.25, 0.39, 0.415, 0.39)),
        (1.9280693458e-01, 1.9128232873e-01, 1.2305650693e-01, 1.3606233068e-01), 3.0750560385e-04,
    ),
    NistSet(
        "MGH10", "higher", np.arange(16) * 5.0 + 50.0,
        _a(34780, 28610, 23650, 19630, 16370, 13720, 11540, 9744, 8261, 7030, 6005, 5147, 4427, 3820, 3307,
           2872),
        _mgh10, _mgh10_slopes, ((2.0, 400000.0, 25000.0), (0.02, 4000.0, 250.0)),
        (5.6096364710e-03, 6.1813463463e03, 3.4522363462e02), 8.7945855171e01,
    ),
    NistSet(
        "BoxBOD", "higher", _a(1, 2, 3, 5, 7, 10), _a(109, 149, 149, 191, 213, 224),
        _misra1a, _misra1a_slopes, ((1.0, 1.0), (100.0, 0.75)),
        (2.1380940889e02, 5.4723748542e-01), 1.1680088766e03,
    ),
    NistSet(
        "Rat42", "higher", _a(9, 14, 21, 28, 42, 57, 63, 70, 79),
        _a(8.93, 10.8, 18.59, 22.33, 39.35, 56.11, 61.73, 64.62, 67.08), _rat42, _rat42_slopes,
        ((100.0, 1.0, 0.1), (75.0, 2.5, 0.07)), (7.2462237576e01, 2.6180768402e00, 6.7359200066e-02),
        8.0565229338e00,
    ),
    NistSet(
        "Rat43", "higher", np.arange(15) + 1.0,
        _a(16.08, 33.83, 65.80, 97.20, 191.55, 326.20, 386.87, 520.53, 590.03, 651.92, 724.93, 699.56, 689.96,
           637.56, 717.41),
        _rat43, _rat43_slopes, ((100.0, 10.0, 1.0, 1.0), (700.0, 5.0, 0.75, 1.3)),
        (6.9964151270e02, 5.2771253025e00, 7.5962938329e-01, 1.2792483859e00), 8.7864049080e03,
    ),
    NistSet(
        "Eckerle4", "higher",
        np.concatenate(
            (np.arange(400.0, 436.0, 5.0), np.arange(436.5, 464.0, 1.5), np.arange(465.0, 501.0, 5.0))
        ),
        _a(0.0001575, 0.0001699, 0.0002350, 0.0003102, 0.0004917, 0.0008710, 0.0017418, 0.0046400, 0.0065895,
           0.0097302, 0.0149002, 0.0237310, 0.0401683, 0.0712559, 0.1264458, 0.2073413, 0.2902366, 0.3445623,
           0.3698049, 0.3668534, 0.3106727, 0.2078154, 0.1164354, 0.0616764, 0.0337200, 0.0194023, 0.0117831,
           0.0074357, 0.0022732, 0.0008800, 0.0004579, 0.0002345, 0.0001586, 0.0001143, 0.0000710),
        _eckerle4, _eckerle4_slopes, ((1.0, 10.0, 500.0), (1.5, 5.0, 450.0)),
        (1.5543827178e00, 4.0888321754e00, 4.5154121844e02), 1.4635887487e-03,
    ),
    NistSet(
        "Thurber", "higher",
        _a(-3.067, -2.981, -2.921, -2.912, -2.840, -2.797, -2.702, -2.699, -2.633, -2.481, -2.363, -2.322,
           -1.501, -1.460, -1.274, -1.212, -1.100, -1.046, -0.915, -0.714, -0.566, -0.545, -0.400, -0.309,
           -0.109, -0.103, 0.010, 0.119, 0.377, 0.790, 0.963, 1.006, 1.115, 1.572, 1.841, 2.047, 2.200),
        _a(80.574, 84.248, 87.264, 87.195, 89.076, 89.608, 89.868, 90.101, 92.405, 95.854, 100.696, 101.060,
           401.672, 390.724, 567.534, 635.316, 733.054, 759.087, 894.206, 990.785, 1090.109, 1080.914,
           1122.643, 1178.351, 1260.531, 1273.514, 1288.339, 1327.543, 1353.863, 1414.509, 1425.208, 1421.384,
           1442.962, 1464.350, 1468.705, 1447.894, 1457.628),
        _thurber, _thurber_slopes,
        ((1000.0, 1000.0, 400.0, 40.0, 0.7, 0.3, 0.0), (1300.0, 1500.0, 500.0, 75.0, 1.0, 0.4, 0.05)),
        (1.2881396800e03, 1.4910792535e03, 5.8323836877e02, 7.5416644291e01, 9.6629502864e-01,
         3.9797285797e-01, 4.9727297349e-02), 5.6427082397e03,
    ),
)  # fmt: skip

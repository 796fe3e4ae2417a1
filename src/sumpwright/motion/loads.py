"""From what the use asks to the directions of pull that the oil feels."""

from __future__ import annotations

import math

import numpy as np

from sumpwright.motion.formulas import ellipse_radius
from sumpwright.motion.model import Envelope, Loads
from sumpwright.quantities import STANDARD_GRAVITY, Attitude, EnginePlacement, Load
from sumpwright.quantities.units import FloatArray, frozen_array
from sumpwright.tables.uses import use_named

RINGS = 25
HEADINGS = 72
LEANS = 41
NOSES = 45
"""25 x 72 accelerations and 41 x 45 slopes: 3,645 loads."""


def envelope_of(loads: Loads) -> Envelope:
    """The loads with what the named use adds for everything not given."""
    use = use_named(loads.use) if loads.use else None
    taken: list[str] = []

    def pick(name: str, given: float | None, of_use: float) -> float:
        if given is not None:
            return given
        if use is not None:
            taken.append(name)
            return of_use
        return 0.0

    return Envelope(
        left_turn=pick("left_turn", loads.left_turn, use.turning if use else 0.0),
        right_turn=pick("right_turn", loads.right_turn, use.turning if use else 0.0),
        braking=pick("braking", loads.braking, use.braking if use else 0.0),
        accelerating=pick("accelerating", loads.accelerating, use.accelerating if use else 0.0),
        nose_up=pick("nose_up", loads.nose_up, use.nose_up if use else 0.0),
        nose_down=pick("nose_down", loads.nose_down, use.nose_down if use else 0.0),
        lean_right=pick("lean_right", loads.lean_right, use.lean_right if use else 0.0),
        lean_left=pick("lean_left", loads.lean_left, use.lean_left if use else 0.0),
        from_use=tuple(taken),
        use_source=use.source if use else "",
    )


def rim(envelope: Envelope, heading: float) -> float:
    """Largest acceleration [m/s2] towards a heading: 0 straight ahead, positive to the left."""
    ahead = envelope.accelerating if math.cos(heading) > 0.0 else envelope.braking
    aside = envelope.left_turn if math.sin(heading) > 0.0 else envelope.right_turn
    return ellipse_radius(heading, ahead, aside)


def headings() -> FloatArray:
    """Directions of acceleration (HEADINGS,) [rad]: 0 straight ahead, positive to the left."""
    return frozen_array(np.arange(HEADINGS) * (2.0 * math.pi / HEADINGS))


def acceleration_loads(envelope: Envelope) -> tuple[FloatArray, FloatArray]:
    """Forward and leftward accelerations (RINGS * HEADINGS,) [m/s2], ring by ring out to the rim."""
    angles = headings()
    edge = np.array([rim(envelope, float(angle)) for angle in angles])
    rings = np.linspace(0.0, 1.0, RINGS)[:, None]
    return (rings * edge * np.cos(angles)).ravel(), (rings * edge * np.sin(angles)).ravel()


def slope_loads(envelope: Envelope) -> tuple[FloatArray, FloatArray]:
    """Nose up and lean to the right (NOSES * LEANS,) [rad], all that may come together."""
    nose = np.linspace(-envelope.nose_down, envelope.nose_up, NOSES)
    lean = np.linspace(-envelope.lean_left, envelope.lean_right, LEANS)
    grid = np.meshgrid(lean, nose, indexing="ij")
    return grid[1].ravel(), grid[0].ravel()


def pull_of_accelerations(
    forward: FloatArray, left: FloatArray, placement: EnginePlacement
) -> tuple[FloatArray, FloatArray]:
    """Up (k, 3) in engine axes and strength (k,) [m/s2] of the pull on level ground."""
    felt = np.column_stack([-forward, -left, np.full(len(forward), -STANDARD_GRAVITY)])
    return _up_and_strength(felt @ placement.attitude.matrix())


def pull_of_slopes(
    nose_up: FloatArray, lean_right: FloatArray, placement: EnginePlacement
) -> tuple[FloatArray, FloatArray]:
    """Up (k, 3) in engine axes and strength (k,) [m/s2] of the pull, standing on a slope."""
    # Nose up, then leaned: the order of the frames; gravity seen from the vehicle.
    felt = STANDARD_GRAVITY * np.column_stack(
        [
            -np.sin(nose_up),
            -np.cos(nose_up) * np.sin(lean_right),
            -np.cos(nose_up) * np.cos(lean_right),
        ]
    )
    return _up_and_strength(felt @ placement.attitude.matrix())


def one_pull(nose_up: float, lean_right: float, placement: EnginePlacement) -> FloatArray:
    """The same for one slope through the frames' own matrices, (3,) [m/s2]."""
    return Load(slope=Attitude(nose_up=nose_up, lean_right=lean_right)).effective_gravity(placement)


def acceleration_words(forward: float, left: float) -> str:
    """A direction of acceleration in shop words: "left turn while braking"."""
    size = math.hypot(forward, left)
    if size < 1e-9:
        return "standing still"
    turn = "" if abs(left) < 0.13 * size else ("left turn" if left > 0.0 else "right turn")
    drive = "" if abs(forward) < 0.13 * size else ("accelerating" if forward > 0.0 else "braking")
    return f"{turn} while {drive}" if turn and drive else turn or drive


def slope_words(nose_up: float, lean_right: float) -> str:
    """A slope in shop words: "nose up and leaned to the right"."""
    parts = []
    if abs(nose_up) > 1e-9:
        parts.append("nose up" if nose_up > 0.0 else "nose down")
    if abs(lean_right) > 1e-9:
        parts.append("leaned to the right" if lean_right > 0.0 else "leaned to the left")
    return " and ".join(parts) or "standing level"


def _up_and_strength(pull: FloatArray) -> tuple[FloatArray, FloatArray]:
    strength = np.linalg.norm(pull, axis=1)
    return frozen_array(-pull / strength[:, None]), frozen_array(strength)

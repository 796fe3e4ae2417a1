"""From the loads' section to what the motion stage needs."""

from __future__ import annotations

from sumpwright.job.job_file import JobFile
from sumpwright.job.lumps import placement_of
from sumpwright.motion.model import Loads, MotionInputs


def build_motion(job_file: JobFile) -> MotionInputs:
    """What is held for ever; where nothing is asked, the motion stage says so."""
    placement, asked = placement_of(job_file.engine), job_file.loads
    if asked is None:
        return MotionInputs(placement)
    return MotionInputs(
        placement=placement,
        loads=Loads(
            use=asked.use or "",
            left_turn=asked.left_turn,
            right_turn=asked.right_turn,
            braking=asked.braking,
            accelerating=asked.accelerating,
            nose_up=asked.nose_up,
            nose_down=asked.nose_down,
            lean_right=asked.lean_right,
            lean_left=asked.lean_left,
        ),
        least_cover=asked.least_cover,
    )

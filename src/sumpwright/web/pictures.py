"""All pictures by the name of their path."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from pydantic import BaseModel

from sumpwright.web.build_picture import build_picture
from sumpwright.web.charts import cover_picture, suction_picture
from sumpwright.web.driven_traces import traces_picture
from sumpwright.web.explored_picture import explored_picture
from sumpwright.web.pan_picture import pan_picture
from sumpwright.web.parts_picture import parts_picture
from sumpwright.web.rail_picture import rail_picture
from sumpwright.web.replay_picture import replay_picture
from sumpwright.web.snapshot import Snapshot

Picture = Callable[[Snapshot, str], BaseModel]

PICTURES: Mapping[str, Picture] = {
    "pan": pan_picture,
    "parts": parts_picture,
    "build": build_picture,
    "rail_plan": rail_picture,
    "cover": cover_picture,
    "traces": traces_picture,
    "suction": suction_picture,
    "replay": replay_picture,
    "explored": explored_picture,
}

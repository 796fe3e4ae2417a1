"""The sheet that carries each face, flat or bent: for what is welded to one face of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from sumpwright.geometry import FlatFrame
from sumpwright.kit import FlatPart, SheetKit
from sumpwright.kit.panels import face_frame
from sumpwright.quantities.units import frozen_array


def face_panels(kit: SheetKit) -> dict[str, FlatPart]:
    """Parts by the name of a face they carry.

    Of a bent part each face gets the part under its own name, with the frame of that face's
    outer skin instead of the base's; outline and holes then mean nothing.
    """
    found = {part.name: part for part in kit.parts}
    cavity = kit.body.cavity
    if cavity is None:
        return found
    for part in kit.parts:
        for index, _, _ in part.faces if part.folds else ():
            face = cavity.faces[index]
            frame = face_frame(cavity, face)
            normal = np.asarray(face.plane.normal)
            skin = np.asarray(frame.origin)
            skin = skin + (face.plane.offset + part.thickness - float(skin @ normal)) * normal
            found[face.name] = replace(part, frame=FlatFrame(frozen_array(skin), frame.x_axis, frame.y_axis))
    return found

"""Invented gaskets drawn with Pillow as a scanner or a camera would show them."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw

from sumpwright.rail.picture_model import PictureInput, grey_array
from tests.rail.scans import BOX, HOLES, INNER, RADIUS

OVER = 4


def drawn(to_pixels, size, *, holes=HOLES, noise=4.0, seed=0, tear=None, grey=(235, 60)):
    """A gasket whose points (n, 2) [m] go to pixels by ``to_pixels``; drawn large and averaged down."""
    big = Image.new("L", (size[0] * OVER, size[1] * OVER), grey[0])
    pen = ImageDraw.Draw(big)

    def shape(points, colour):
        # A pixel's middle has the whole number, its edges lie half a pixel off.
        spots = (to_pixels(np.asarray(points)) + 0.5) * OVER - 0.5
        pen.polygon([tuple(p) for p in spots.tolist()], fill=colour)

    def ring(box):
        t = np.linspace(0, 1, 40, endpoint=False)[:, None]
        c = np.array([(box[0], box[2]), (box[1], box[2]), (box[1], box[3]), (box[0], box[3])])
        return np.concatenate([a + t * (b - a) for a, b in zip(c, np.roll(c, -1, axis=0), strict=True)])

    shape(ring(BOX), grey[1])
    shape(ring(INNER), grey[0])
    t = np.linspace(0, 2 * np.pi, 180, endpoint=False)
    for h in holes:
        shape(h + RADIUS * np.stack((np.cos(t), np.sin(t)), axis=1), grey[0])
    if tear is not None:
        shape(tear, grey[0])
    small = np.asarray(big, dtype=np.float64).reshape(size[1], OVER, size[0], OVER).mean(axis=(1, 3))
    small += np.random.default_rng(seed).normal(0, noise, small.shape)
    return np.clip(np.round(small), 0, 255)


def flatbed(turn=0.1, stretch=0.004, pixel=25.4e-3 / 200, seen_from="above", **more):
    """On the glass: turned, and x drawn longer than y."""
    hand = np.array([1.0, 1.0 if seen_from == "above" else -1.0])
    c, s = np.cos(turn), np.sin(turn)
    middle = np.array([(BOX[0] + BOX[1]) / 2, (BOX[2] + BOX[3]) / 2]) * hand
    size = (int(0.40 / pixel), int(0.29 / pixel))

    def to_pixels(points):
        q = (points * hand - middle) @ np.array([[c, s], [-s, c]])
        q = q * (1 + stretch, 1 - stretch)
        return np.stack((size[0] / 2 + q[:, 0] / pixel, size[1] / 2 - q[:, 1] / pixel), axis=1)

    image = drawn(to_pixels, size, **more)
    return PictureInput("gasket.png", grey_array(image), seen_from, pixel, None), to_pixels

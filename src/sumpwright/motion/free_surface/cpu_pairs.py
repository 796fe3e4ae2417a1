"""Four neighbouring numbers at a time: what a parcel adds to the grid, as vector instructions.

The compiler does not find these by itself. Sums lie as (mass, momentum) pairs along z, so the
two faces of a pair in z are four numbers in a row; a parcel's eight faces are four such rows.
"""

from __future__ import annotations

from typing import Any

from llvmlite import ir
from numba import types
from numba.core import cgutils
from numba.extending import intrinsic

_F4 = ir.FloatType()
_pack: Any = cgutils.pack_array
_tuple_of: Any = types.UniTuple
_FOUR = _tuple_of(types.float32, 4)
_FAST = ("reassoc", "contract", "nsz")


def _row(builder: Any, values: list[Any]) -> Any:
    """A vector of these numbers."""
    kind = ir.VectorType(_F4, len(values))
    out = ir.Constant(kind, ir.Undefined)
    for n, value in enumerate(values):
        out = builder.insert_element(out, value, ir.Constant(ir.IntType(32), n))
    return out


def _add_row(builder: Any, data: Any, at: Any, row: Any) -> None:
    """Add a vector to numbers that lie in a row from ``at`` on."""
    place = builder.bitcast(builder.gep(data, [at]), row.type.as_pointer())
    old = builder.load(place)
    old.align = 4
    builder.store(builder.fadd(old, row, flags=_FAST), place).align = 4


def _four_parts(builder: Any, x: Any, y: Any) -> tuple[list[Any], Any]:
    """Weights of the four rows beside (x, y), and the constant one."""
    one = ir.Constant(_F4, 1.0)
    x0, y0 = builder.fsub(one, x, flags=_FAST), builder.fsub(one, y, flags=_FAST)
    return [builder.fmul(a, b, flags=_FAST) for a, b in ((x0, y0), (x0, y), (x, y0), (x, y))], one


def _four_places(builder: Any, base: Any, step_x: Any, step_y: Any) -> list[Any]:
    """Where the four rows begin."""
    high = builder.add(base, step_x)
    return [base, builder.add(base, step_y), high, builder.add(high, step_y)]


@intrinsic
def add_momentum(
    typing: Any, sums: Any, base: Any, step_x: Any, step_y: Any,
    x: Any, y: Any, z: Any, v: Any, gx: Any, gy: Any, gz: Any,
) -> Any:  # fmt: skip
    """Add mass and momentum to eight faces; ``v`` is the velocity at the first of them, g its slopes.

    ``sums`` flat float32 (mass, momentum) pairs; ``base``, ``step_x`` and ``step_y`` count numbers,
    not pairs. Nothing checks that the faces are there.
    """
    f4, i8 = types.float32, types.int64
    signature = types.void(sums, i8, i8, i8, f4, f4, f4, f4, f4, f4, f4)

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        data = context.make_array(signature.args[0])(context, builder, args[0]).data
        base, step_x, step_y, x, y, z, v, gx, gy, gz = args[1:]
        parts, one = _four_parts(builder, x, y)
        z0 = builder.fsub(one, z, flags=_FAST)
        top = builder.fmul(z, builder.fadd(v, gz, flags=_FAST), flags=_FAST)
        zero = ir.Constant(_F4, 0.0)
        own = _row(builder, [z0, builder.fmul(z0, v, flags=_FAST), z, top])
        more = _row(builder, [zero, z0, zero, z])
        slopes = [None, gy, gx, builder.fadd(gx, gy, flags=_FAST)]
        places = _four_places(builder, base, step_x, step_y)
        for at, part, slope in zip(places, parts, slopes, strict=True):
            row = own
            if slope is not None:
                row = builder.fadd(
                    own, builder.fmul(_row(builder, [slope] * 4), more, flags=_FAST), flags=_FAST
                )
            _add_row(builder, data, at, builder.fmul(_row(builder, [part] * 4), row, flags=_FAST))
        return context.get_dummy_value()

    return signature, generate


@intrinsic
def add_bulk(typing: Any, share: Any, base: Any, step_x: Any, step_y: Any, x: Any, y: Any, z: Any) -> Any:
    """Add a parcel's bulk to eight cells (flat float32)."""
    f4, i8 = types.float32, types.int64
    signature = types.void(share, i8, i8, i8, f4, f4, f4)

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        data = context.make_array(signature.args[0])(context, builder, args[0]).data
        base, step_x, step_y, x, y, z = args[1:]
        parts, one = _four_parts(builder, x, y)
        own = _row(builder, [builder.fsub(one, z, flags=_FAST), z])
        for at, part in zip(_four_places(builder, base, step_x, step_y), parts, strict=True):
            _add_row(builder, data, at, builder.fmul(_row(builder, [part] * 2), own, flags=_FAST))
        return context.get_dummy_value()

    return signature, generate


@intrinsic
def between(typing: Any, q: Any, base: Any, step_x: Any, step_y: Any, x: Any, y: Any, z: Any) -> Any:
    """Value and slopes of ``q`` (flat float32) between the eight numbers at ``base`` and beside it."""
    f4, i8 = types.float32, types.int64
    signature = _FOUR(q, i8, i8, i8, f4, f4, f4)

    def generate(context: Any, builder: Any, signature: Any, args: Any) -> Any:
        data = context.make_array(signature.args[0])(context, builder, args[0]).data
        base, step_x, step_y, x, y, z = args[1:]

        def minus(a: Any, b: Any) -> Any:
            return builder.fsub(a, b, flags=_FAST)

        def along(a: Any, part: Any, b: Any) -> Any:
            return builder.fadd(a, builder.fmul(part, b, flags=_FAST), flags=_FAST)

        def pick(a: Any, n: int) -> Any:
            return builder.extract_element(a, ir.Constant(ir.IntType(32), n))

        pair = ir.VectorType(_F4, 2)
        rows = []
        for at in _four_places(builder, base, step_x, step_y):
            row = builder.load(builder.bitcast(builder.gep(data, [at]), pair.as_pointer()))
            row.align = 4
            rows.append(row)
        yy, xx = _row(builder, [y, y]), _row(builder, [x, x])
        low_y, high_y = minus(rows[1], rows[0]), minus(rows[3], rows[2])
        low, high = along(rows[0], yy, low_y), along(rows[2], yy, high_y)
        slope_x = minus(high, low)
        slope_y = along(low_y, xx, minus(high_y, low_y))
        value = along(low, xx, slope_x)
        out = []
        for two in (value, slope_x, slope_y):
            out.append(along(pick(two, 0), z, minus(pick(two, 1), pick(two, 0))))
        out.append(minus(pick(value, 1), pick(value, 0)))
        return _pack(builder, out)

    return signature, generate

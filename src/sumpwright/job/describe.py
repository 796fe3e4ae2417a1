"""The page docs/job-file.md, written from the models that read the files."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sumpwright.job import sections, shop_sections
from sumpwright.job.fields import Amount, Asked, Flag, Name, OneOf, Setting, Thicknesses
from sumpwright.job.readings import COLUMNS, KINDS, LATER_KINDS, TOOLS
from sumpwright.job.refusals import example_of
from sumpwright.job.section_types import Section
from sumpwright.quantities.text import GOOD_EXAMPLES, unit_names
from sumpwright.tables.materials import materials

_HEAD = """# The files of a job

<!-- Written by sumpwright.job.describe from the models that read the files. Do not edit by hand. -->

A job is a folder with a job file `job.toml`, a readings file `rail.csv` and, if you keep one, a shop
file `shop.toml`. `sumpwright new my-pan --like hillclimb-four` lays one out to write over. All three
are plain UTF-8 text. Every slip in all of them is told at once, with its line, and nothing is worked
out until they are put right.

## How to write things

Quantities stand in quotes, number first, unit behind: `"6 mm"`, `"1/4 in"`, `"1 1/2 in"`,
`"1-1/2 in"`, `"5 ft 3 1/2 in"`, `"16 ga"`, `"80 degF"`, `"2.5 us gal"`. Metric and inch units may be
mixed as you like; what the sheet prints is chosen by `units` under `[job]`. Decimals take a point.

- A gallon, quart or pint is US or imperial: write `"2 us gal"` or `"2 imp gal"`, or say once
  `gallons = "us"` under `[job]`.
- A gauge number is read for the metal of its section. Galvanised sheet has gauges of its own: measure
  it and write the thickness.
- `%` behind an angle is a grade: so many up for a hundred along.
- Attitudes are words (`nose_up`, `lean_right`), never a minus sign. Places are in the engine's axes: x
  towards the engine's front, y to its left, z up, from the datum hole; there a minus sign is meant.

Units that are known:

"""

_FRAME = """
## The engine's axes

x points from the datum hole towards the front of the engine, y to its left, z up, away from the pan.
The rail plane is z = 0 and the pan hangs below it. `[engine]` says how these axes stand in the
vehicle: first turned, then nose up or down, then leaned, seen from behind the engine. A floor that is
`level with ground` is level once the engine stands so and the vehicle stands on level ground.

"""


def describe() -> str:
    """The whole page."""
    parts = [_HEAD, _units(), _FRAME, "## The job file, `job.toml`\n\n"]
    for name, model in sections.SINGLE.items():
        parts.append(_section(f"[{name}]", model, name in sections.NEEDED))
        for path, inner in sections.LISTED.items():
            if len(path) == 2 and path[0] == name:
                parts.append(_section(f"[[{'.'.join(path)}]]", inner, path in sections.NEEDED_LISTS))
        for path, listed in sections.LISTED.items():
            if path in _AFTER.get(name, ()):
                parts.append(_section(f"[[{path[0]}]]", listed, path in sections.NEEDED_LISTS))
    parts.append(_reserved("job", sections.RESERVED))
    parts.append(_readings())
    parts.append(_SHOP_HEAD)
    for name, model in shop_sections.SINGLE.items():
        parts.append(_section(f"[{name}]", model, name in shop_sections.NEEDED))
        if name == "shop":
            parts += [
                _section(f"[[{path[0]}]]", listed, False) for path, listed in shop_sections.LISTED.items()
            ]
    parts.append(_reserved("shop", shop_sections.RESERVED))
    parts.append(_metals())
    return "".join(parts).rstrip() + "\n"


_AFTER: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "pan": (
        ("lumps",),
        ("walls",),
        ("roof_baffles",),
        ("fittings",),
        ("stand_offs",),
        ("joints",),
        ("patch_plates",),
    ),
    "crank": (("ports",),),
    "loads": (("drives",),),
    "vehicle": (("keep_outs",),),
}
"""Where on the page sections in double brackets stand: behind this one."""

_SHOP_HEAD = """## The shop file, `shop.toml`

What holds for every pan of this shop. It stands beside the job file; without it, or where it says
nothing, shipped figures stand in and the sheet says so. Keys listed under `placeholders` hold shipped
figures too and are named on the sheet, until you put your own in their place.

"""


def _units() -> str:
    rows = ["| of | units | for example |", "|---|---|---|"]
    for kind, (metric, inch) in GOOD_EXAMPLES.items():
        if kind == "thicknesses":
            continue
        names = ", ".join(f"`{name}`" for name in unit_names(kind)) or "none"
        if kind == "length":
            names += "; for sheet also `ga`"
        if kind == "ratio":
            names += ", or a bare number"
        example = f'`"{metric}"`' if metric == inch else f'`"{metric}"`, `"{inch}"`'
        rows.append(f"| {kind} | {names} | {example} |")
    return "\n".join(rows) + "\n"


def _section(title: str, model: type[Section], is_needed: bool) -> str:
    need = "Needed" if is_needed else "May be left out"
    if title.startswith("[["):
        need += ", as often as there are such"
    doc = " ".join((model.__doc__ or "").split())
    rows = [f"### `{title}`\n", f"{doc} {need}.\n", "| key | what it is | what it holds |", "|---|---|---|"]
    for key, field in model.model_fields.items():
        star = " (needed)" if field.is_required() else ""
        text = " ".join((field.description or "").split())
        rows.append(f"| `{key}`{star} | {text} | {_holds(field)} |")
    return "\n".join(rows) + "\n\n"


def _holds(field: Any) -> str:
    """What a key may hold: the range in both systems, the words, or an example."""
    for rule in field.metadata:
        if isinstance(rule, Asked):
            return _range_words(rule)
        if isinstance(rule, OneOf):
            return ", ".join(f'`"{word}"`' for word in rule.words)
        if isinstance(rule, Flag):
            return "`true` or `false`"
        if isinstance(rule, Thicknesses | Amount | Name):
            return f'like `"{rule.good}"`'
    return f"like `{example_of(field, Setting())}`"


def _range_words(rule: Asked) -> str:
    metric = rule.allowed(rule.usual_unit("mm"))
    words = f'like `"{rule.good}"`, {metric}'
    if rule.good_inch != rule.good:
        words += f'; `"{rule.good_inch}"`, {rule.allowed(rule.usual_unit("in"))}'
    return words


def _reserved(which: str, names: Mapping[str, str]) -> str:
    rows = [
        f"### Sections of the {which} file that are not read yet\n",
        "These names are kept for what comes later. A file that holds one of them is refused, so that "
        "nothing",
        "you wrote is passed over in silence.\n",
        "| section | for |",
        "|---|---|",
        *(f"| `{name}` | {text} |" for name, text in names.items()),
    ]
    return "\n".join(rows) + "\n\n"


def _readings() -> str:
    rows = [
        "## The readings file, `rail.csv`\n",
        "One reading a line, cells parted by commas, the column names in the first line. Lines that "
        "begin with",
        "`#` are remarks. The same pair may be read as often as you like.\n",
        "```",
        ", ".join(COLUMNS),
        "inside, h1, h2, 55.01 mm, caliper, ,",
        "outside, h3, h4, 69.50 mm, caliper, 0.06 mm, worn edge",
        "diameter, h4, , 6.77 mm, caliper, ,",
        "in_line, h4, h1 h8, 0.1 mm, straight edge, ,",
        "offset_near, h4, front bar, 12.30 mm, caliper, ,",
        "readout, h4, , 131.22 mm 4.05 mm, readout, ,",
        "```\n",
        "| column | what it holds |",
        "|---|---|",
        *(f"| `{name}` | {text} |" for name, text in COLUMNS.items()),
        "",
        "| kind | what was read |",
        "|---|---|",
        *(f"| `{name}` | {text} |" for name, text in KINDS.items()),
        "",
        f"Read with: {', '.join(TOOLS)}. Nothing there means what the kind is usually read with.",
        f"Not read yet: {', '.join(LATER_KINDS)}.\n",
    ]
    return "\n".join(rows) + "\n"


def _metals() -> str:
    rows = ["## Metals\n", "| name | also | for |", "|---|---|---|"]
    for metal in materials():
        uses = [
            word for word, use in (("sheet and flange", metal.is_sheet), ("block", metal.is_block)) if use
        ]
        also = ", ".join(name for name in metal.also if name)
        rows.append(f"| `{metal.id}` | {also} | {', '.join(uses)} |")
    return "\n".join(rows) + "\n"

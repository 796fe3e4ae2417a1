"""The blank form ``as-built.toml``: the bench sheet's fields in the same order, to type into."""

from __future__ import annotations

from sumpwright.job.fields import Setting
from sumpwright.job.record_sections import LISTED, ORDER, SINGLE, title_of
from sumpwright.job.refusals import example_of


def blank_form(job_name: str, setting: Setting) -> str:
    """The form's text: [record] ready, everything else behind # until it is filled in."""
    lines = [
        "# What was read of the finished pan: the parts of the bench sheet, with the same numbers.",
        "# Take the # off the lines you fill in. The line in brackets goes before what belongs to it: in",
        "# single brackets once, in double brackets again before each further line of the sheet.",
        "# Then: sumpwright record, which keeps a copy under record/ and never changes this file.",
        "# Write only what is new since the last entry: pours, bubbles and settings are kept with the",
        "# earlier ones, the others take their place.",
        "",
    ]
    for name in ORDER:
        is_single = name in SINGLE
        model = SINGLE[name] if is_single else LISTED[(name,)]
        mark = "" if name == "record" else "# "
        words = " ".join((model.__doc__ or "").split()).rstrip(".")
        lines.append(f"# ---- {title_of(name)} ----")
        lines.append(f"# {words}.")
        lines.append(f"{mark}[{name}]" if is_single else f"{mark}[[{name}]]")
        for key, field in model.model_fields.items():
            good = example_of(field, setting)
            if name == "record" and key == "job":
                lines.append(f'job = "{job_name}"')
                continue
            here = mark if field.is_required() else "# "
            lines.append(f"{here}{key} = {good}    # {field.description}")
        lines.append("")
    return "\n".join(lines)

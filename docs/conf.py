"""How the pages in this folder become a site: ``make site`` writes it to build/site."""

from __future__ import annotations

import re
from typing import Any

from docutils import nodes
from docutils.utils.math.latex2mathml import tex2mathml

project = "Sumpwright"
extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["conf.py"]
html_theme = "alabaster"
html_theme_options = {
    "description": "From caliper readings to a kit of cut parts for a one-off oil pan",
    "fixed_sidebar": False,
    "page_width": "1120px",
    "show_powered_by": False,
}
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
myst_heading_anchors = 4
myst_enable_extensions = ["deflist", "dollarmath"]
# Links into the source tree and to ARCHITECTURE.md are for readers of the repository.
suppress_warnings = ["myst.xref_missing", "myst.header"]
html_last_updated_fmt = None

# Equations become MathML, which browsers draw by themselves: nothing is loaded from elsewhere.
html_math_renderer = "mathml"
html_static_path = ["_static"]
html_css_files = ["equations.css"]
_TAG = re.compile(r"\\tag\{(\w+)\}")
_SIZES = re.compile(r"\\[bB]igg?[lr]?(?=[^a-zA-Z])")


def _inline_equation(writer: Any, node: nodes.math) -> None:
    writer.body.append(tex2mathml(_SIZES.sub("", node.astext())))
    raise nodes.SkipNode


def _numbered_equation(writer: Any, node: nodes.math_block) -> None:
    """The equation in the middle, the number of its \\tag at the right edge."""
    text = _SIZES.sub("", node.astext())
    tag = _TAG.search(text)
    number = f'<span class="equation-number">({tag[1]})</span>' if tag else ""
    equation = tex2mathml(_TAG.sub("", text).strip(), as_block=True)
    writer.body.append(f'<div class="equation">{equation}{number}</div>\n')
    raise nodes.SkipNode


def setup(app: Any) -> None:
    """Tell the generator of the equations' own writer."""
    app.add_html_math_renderer("mathml", (_inline_equation, None), (_numbered_equation, None))

"""How the pages in this folder become a site: ``make site`` writes it to build/site."""

project = "Sumpwright"
extensions = ["myst_parser"]
source_suffix = {".md": "markdown"}
exclude_patterns = ["conf.py"]
html_theme = "alabaster"
html_theme_options = {
    "description": "From caliper readings to a kit of cut parts for a one-off oil pan",
    "fixed_sidebar": False,
    "show_powered_by": False,
}
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
# Equations stand in the text with their numbers; nothing is loaded from elsewhere.
myst_heading_anchors = 4
myst_enable_extensions = ["deflist"]
# Links into the source tree and to ARCHITECTURE.md are for readers of the repository.
suppress_warnings = ["myst.xref_missing", "myst.header"]
html_last_updated_fmt = None

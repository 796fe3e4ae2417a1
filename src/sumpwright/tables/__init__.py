"""Published numbers as data files, and the bibliography they come from.

Asks nothing of the shop. The numbers stand in ``data/*.csv`` as they were published; the
loaders give them in base SI, each with the id of its source in ``sources.toml``.
"""

from sumpwright.tables.model import Cited
from sumpwright.tables.sources import Source, source_title, sources

__all__ = ["Cited", "Source", "source_title", "sources"]

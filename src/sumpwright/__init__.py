"""Sumpwright: from caliper readings of a pan rail to a kit of cut sheet parts.

Read the folders in the order of the work: quantities, findings, tables and
geometry are the floor; rail, body, oil, kit are the stages; job reads what the
fabricator wrote, outputs shows what came out, flow runs the stages.
"""

__version__ = "0.1.0"

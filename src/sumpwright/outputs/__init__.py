"""Drawings, cut files, template, job sheet, results file. Shows, never calculates."""

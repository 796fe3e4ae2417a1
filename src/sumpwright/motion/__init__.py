"""Oil in motion: is the pickup covered, held for ever, through a manoeuvre, and as it really moves.

The shop asks: does the pump draw oil or air. In: the body, the oil, the loads. Out: cover
maps and traces. Left out here so far: everything whose module is not beside this file.
"""

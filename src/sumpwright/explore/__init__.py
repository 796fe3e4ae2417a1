"""Many variants of one job, on one machine or a cluster, and the few that are worth a look.

The shop asks: what if the sump were deeper, the wall higher, the doors on the other side, the
sheet thinner; and which of hundreds of such pans are beaten by no other. In: a job and a plan
that names what may vary and what counts. Out: a store of every answer found, the pans that
nothing beats with what each gives up, how much each input matters, and a job file of the one
that is taken. Left out: free surface for the finalists, which takes minutes a pan and is asked
for by ``drive --free-surface`` on the job file that is taken.

In reading order: ``model`` (axes, counts, tasks), ``plan`` (plan file and job to a question),
``answers`` (what can count, and what it costs), ``pan`` (one variant, no more of it worked out
than is asked), ``trying`` (one variant after the other in one process), ``orders`` (grid,
spread, matters), ``store``, ``crew`` (processes of this machine or a cluster), ``search``,
``front`` (nothing beats these), ``matters``, ``explore`` (all of it), ``telling`` (for outputs).
"""

from sumpwright.explore.explore import explore
from sumpwright.explore.plan import Plan, read_plan

__all__ = ["Plan", "explore", "read_plan"]

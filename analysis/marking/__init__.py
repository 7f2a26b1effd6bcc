"""What `season check --mark` writes: a copy of every sheet with each problem at its cell. No original is touched.

copy      season and sheets → a file that was not there before
pages     a sheet as it was written with its marks, and the list of all problems
places    where each problem stands
dress     how cells look
"""

from analysis.marking.copy import write_marked

__all__ = ["write_marked"]

"""`season check`: what was assumed, every problem, the account of all rows, and a marked copy of the sheets."""

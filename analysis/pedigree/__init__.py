"""Birds across partners and seasons: who is related to whom, and what each bird did with whom.

tabular    kinship and inbreeding by the tabular method
parents    who is whose parent, from the logs of all joined seasons
related    the ancestors through which two birds are related, and what is not written
young      the inbreeding of each pair's young, and a sentence
partners   what each bird did with each partner
"""

from analysis.pedigree.parents import known_parents
from analysis.pedigree.partners import other_partners, partners
from analysis.pedigree.tabular import inbreeding, kinship
from analysis.pedigree.young import young

__all__ = ["inbreeding", "kinship", "known_parents", "other_partners", "partners", "young"]

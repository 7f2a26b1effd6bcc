"""What a paper that goes with a chick says beside what was written: cautions for its new keeper, and no promise."""

from analysis.finding import found

CAUTIONS = (
    found("overview.caution-veterinarian", about=found("overview.veterinarian")),  # practice
    found("overview.caution-apart", about=found("overview.apart")),  # practice
    found("overview.caution-food", about=found("overview.food")),  # practice
    # A drop: Duerr & Gage, Hand-Rearing Birds, 2020, p. 617; mornings, same scale: p. 450.
    found("overview.caution-weight", about=found("overview.weight")),
    found("overview.caution-at-home", about=found("overview.at-home")),  # practice
    found("overview.caution-hygiene", about=found("overview.hygiene")),  # practice; what can be caught: (memory)
    found("overview.caution-law", about=found("overview.law")),  # practice
)
PROMISE = found("overview.promise")

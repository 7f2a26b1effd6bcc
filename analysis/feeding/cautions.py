"""What stands on every page that has to do with feeding."""

CAUTIONS = (
    "A sick, cold, losing, straining or not-begging chick is kept warm and quiet, and an avian veterinarian sees it "
    "today. No page can look at a bird; where this one and what you see differ, what you see holds.",
    "A cold chick is never fed. Formula that is too hot burns the crop; too much, or too fast, gets into the airway. "
    "Amounts are reminders, never a prescription; your veterinarian's word goes before them.",
    "Clean hands, clean tools, a fresh mix. Droppings and feather dust can make people ill (psittacosis): air the "
    "room, and tell your doctor that you keep birds.",
    "Home-made heat: electrical and fire safety come first, local codes hold, and a qualified electrician checks it.",
)

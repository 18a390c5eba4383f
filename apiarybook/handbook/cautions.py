"""The cautions that stand in the book, on cards and in notes to members."""

LIFTING = (
    "A full hive can pass 45 kg (100 lb), a double deep 60 kg (130 lb). Strap the boxes together before tilting; "
    "tilt a few centimetres, slowly, never by an upper box; wedge, do not hold; feet clear; not in wind or on ice. "
    "Two people above 16 kg (35 lb) at the edge or 25 kg (55 lb) whole. Do not lift what you doubt; follow local "
    "manual-handling guidance. Hang scale and pole rated above the highest believable gross."
)
STINGS = (
    "Veil and gloves on, somebody near, an emergency plan. Trouble with breathing or swelling of face or throat: "
    "call the emergency number at once. Follow local medical advice."
)
FEEDING = (
    "Take honey supers off first; frames fed on are never extracted. White sugar and clean water, no scorched syrup; "
    "never honey of unknown origin. Feed in the evening, spill nothing, narrow the entrances: robbing and wasps."
)
MEDICINES = (
    "The label and local law decide about medicines; this book records no doses. If you suspect a notifiable disease, "
    "move nothing and notify whom local law names. An official or licensed inspector's word stands above this book."
)
CAUTIONS = (
    ("Lifting", LIFTING),
    ("Stings", STINGS),
    ("Feeding", FEEDING),
    ("Medicines and disease", MEDICINES),
)
"""Title and text of each; weights from common practice and older HSE guidance (16 kg and 25 kg, from memory)."""

"""Raw cells brought to typed tables of the layout and back: places, units, days, marks."""

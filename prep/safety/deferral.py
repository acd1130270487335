"""The sentence under everything that says how to work: what prevails over it."""

DEFERRAL = "A working aid: the supplier's safety data sheet, local rules and licensed practice prevail."

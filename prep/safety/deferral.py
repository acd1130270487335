"""The sentences under everything that says how to work: what prevails over it."""

DEFERRAL = "A working aid: the supplier's safety data sheet, local rules and licensed practice prevail."
LOCAL_RULES = "Local rules and the waste carrier's licence come first; ask before anything goes down a drain."
LOOK_UP_THE_ACT = "Look up the act as it stands, and ask the employer or the authority it names."

"""The steps of a plan: requirements, netting, lot sizing, sourcing, ordering, levelling."""

"""How a solution is prepared: routes, vessels, steps, instructions."""

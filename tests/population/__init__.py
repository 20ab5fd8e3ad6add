"""A second population of simulated sites, by another hand than daemon/simulate. See README.md."""

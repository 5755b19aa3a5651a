"""From a job to a plan: compiled tables, placing, search, bounds, proof, slack and reasons."""

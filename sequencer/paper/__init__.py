"""Plans on paper: JSON as the contract has it, and plain text."""

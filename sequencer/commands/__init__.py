"""The commands of the command line, a few to a file; each imports what it needs when it runs."""

"""What is needed when: parts and materials by the first hour they are needed, the last day to order, what holds her."""

from sequencer.supplies.lead import Lead, lead_of
from sequencer.supplies.needs import Supply, supplies

__all__ = ["Lead", "Supply", "lead_of", "supplies"]

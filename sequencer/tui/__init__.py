"""The app: screens compose, widgets draw, workers compute and post, handlers change state."""

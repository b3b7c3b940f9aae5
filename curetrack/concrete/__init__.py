"""The physics: pure functions of published relations, each with its range and its source."""

"""Tests of curetrack/nudge."""

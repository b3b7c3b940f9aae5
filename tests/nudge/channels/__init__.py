"""Tests of curetrack/nudge/channels."""

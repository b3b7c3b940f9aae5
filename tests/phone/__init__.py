"""Tests of curetrack/phone."""

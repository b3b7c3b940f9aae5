"""Tests of curetrack/service."""

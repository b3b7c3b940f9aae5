"""Tests of curetrack/desk."""

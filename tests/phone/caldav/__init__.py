"""Tests of curetrack/phone/caldav."""

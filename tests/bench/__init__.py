"""Benchmarks: scripts of their own, run by hand and never by the tests, `python -m tests.bench.NAME`.

bench_course   building a course and asking it for moments, up to 43,200 readings
bench_solve    one solve: from a cold course of 43,200 readings, and after one more reading
bench_import   importing a logger's file of a million rows, against a bare table
bench_today    a cold `today` with 20 pieces, against the bare imports
"""

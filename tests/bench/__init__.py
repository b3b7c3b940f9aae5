"""Benchmarks: scripts of their own, run by hand and never by the tests, `python -m tests.bench.NAME`.

bench_course   building a course and asking it for moments, up to 43,200 readings
bench_solve    one solve: from a cold course of 43,200 readings, and after one more reading
bench_import   importing a logger's file of a million rows, against a bare table
bench_plan     planning 1,000 pieces of 100 shops; one shop of 20 and of 200; how good the plans are
bench_when     `when` over two weeks of half-hours
bench_today    a cold `today` with 20 pieces, against the bare imports
bench_nudges    how late nudges are with 10,000 of them pending
bench_idle      what the service takes with 20 pieces while nothing happens
bench_desk      how soon the dashboard answers a key with 50 pieces
bench_kill      a service killed 200 times at random moments: what is lost
bench_phones    50 phones polling and ticking for a minute, beside one alone
bench_growth    how the profiles that ship grow beside 1,030 measured strengths, and beside fits of them
hindcast        what was said at the pour on real weather, beside what came (some minutes)
bench_rehearsal a whole piece in fast motion with the real service on a real bus
"""

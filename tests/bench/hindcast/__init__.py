"""What curetrack said at the pour, on real weather, beside what came.

    python -m tests.bench.hindcast                       # the table; some 3 minutes on two processors
    python -m tests.bench.hindcast --svg examples/accuracy.svg
    python -m tests.bench.hindcast --half choose --seed 2

Two climates lie in tests/data/weather. Two more come with packages that nothing else here needs, and are left out, and
said to be, where those are not installed:

    pip install --no-deps demandlib accim-samples

    climates   hourly air outside, holes counted                     climates.py
    garage     a first-order lag behind it; typed lows and highs     garage.py
    pours      one on each day at a maker's hours                    run.py
    trial      curetrack's own course, rules and bands               trial.py
    heat       the slab computed from the air                        heat.py
    tally      errors, shares, block bootstrap                       tally.py
    table, picture                                                   table.py, picture.py

The days are split into alternate fortnights. Ways of forecasting, and how far each may be off (climate/doubt.py), were
chosen on one half (`--half choose`); the other half reports. Pours that truly freeze young, and steps that are not
said to come within three days, are counted and reported apart; pours near a hole of the weather are left out and
counted.
"""

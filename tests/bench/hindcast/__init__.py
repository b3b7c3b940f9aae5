"""What curetrack said at the pour, on real weather, beside what came: python -m tests.bench.hindcast (about 2 min)."""

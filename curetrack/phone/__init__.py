"""The phone: the page, pairing, the calendar feed, the to-do sync. Nothing is shown to a device that is not paired."""

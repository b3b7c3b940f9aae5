"""Planning: from "may be done from" to "do it then", across all pieces.

calendar   the maker's windows, what is booked in them, and the first fit         free.py, calendar.py
net        one piece compiled for many cheap passes                               job, limits, links, compile, net.py
fits       where one step goes: hours, crew, quiet hours, and what if nowhere     fits.py
before     what comes before a planned pour: backwards from it, or from now       before.py
serial     one pass: steps of all pieces placed one after another, with chains    trail.py, chains.py, serial.py
visits     what may wait until one goes there anyway                              visits.py
cost       what a plan costs, in order of what matters                            cost.py, outcome.py
search     the best of several orders, or of all                                  search.py
sharing    the same where pieces share a form: one after the other                sharing.py
plan       from pieces and a rota to agreed moments and what is to be said        plan.py, agreed.py
when       which moment to pour: one judged, the best of each day                 when.py, choice.py, picking.py
           what the weather and the calendar have against one                     risks.py, against.py, unseen.py
called     the hours of a crew of another size                                   called.py
mend       what would take a clash away, tried                                   mend.py
"""

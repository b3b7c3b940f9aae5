#!/bin/sh
# A maker with a day job, a shelf that is curing, a friend who comes on Saturdays, and a table that is promised for a
# date: when to pour it, and what then falls into which evening. By curetrack commands only. See plan.md.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
. "$here/maker.sh"

say "Evenings and weekends; a friend on Saturdays; the neighbours sleep from ten."
fact shop --set timezone=Europe/Berlin --set units=metric --set quiet_hours=22:00-06:30
fact shop --set "hours=Mon-Fri 18:00-21:00, Sat 8:00-20:00, Sun 9:00-18:00"
fact shop --set crew=2 --set "crew_hours=Sat 9:00-17:00"
fact temp 15C --humidity 55 --at "2015-02-28 08:00"

say "The shelf, poured on Saturday with the friend, stripped on Sunday."
fact pour shelf --profile bagged-tabletop --size 1000x300x40mm --at "2015-02-28 11:00"
fact done shelf vibrate --crew 2 --at "2015-02-28 11:10"
fact done shelf screed --crew 2 --at "2015-02-28 11:25"
fact done shelf cover-1 --at "2015-02-28 11:30"
fact done shelf trowel-back --at "2015-02-28 16:15"
fact done shelf free --at "2015-02-28 16:30"
fact done shelf cover-2 --at "2015-02-28 16:40"
fact done shelf mist --at "2015-03-01 17:00"
fact done shelf strip --check pass --at "2015-03-01 17:30"
fact done shelf ease-back --at "2015-03-01 17:45"
fact done shelf re-cover --at "2015-03-01 17:55"

say "Monday evening. A table is promised for Sunday, the 29th of March: when to pour it?"
fact temp 15C --humidity 55 --at "2015-03-02 19:30"
show when --profile bagged-tabletop --size 1200x600x40mm --need-by "2015-03-29 18:00" --as-of "2015-03-02 20:00"

say "Poured as advised, after the friend has helped to flip the shelf. The evening shows both pieces."
fact temp 15C --humidity 55 --at "2015-03-07 08:30"
fact done shelf mist.2 --at "2015-03-03 18:30"
fact done shelf mist.3 --at "2015-03-05 18:30"
fact done shelf prepare-lift --at "2015-03-06 18:30"
fact done shelf flip --check pass --crew 2 --at "2015-03-07 09:10"
fact done shelf base-off --crew 2 --at "2015-03-07 09:25"
fact done shelf block-up --check pass --crew 2 --at "2015-03-07 09:40"
fact done shelf ease-face --at "2015-03-07 10:00"
fact pour table --profile bagged-tabletop --size 1200x600x40mm --need-by "2015-03-29 18:00" --at "2015-03-07 12:00"
fact done table vibrate --crew 2 --at "2015-03-07 12:15"
fact done table screed --crew 2 --at "2015-03-07 12:30"
fact done table cover-1 --at "2015-03-07 12:40"
show today --as-of "2015-03-07 13:00"

say "What to write to the friend for next Saturday."
show sheet table --crew --as-of "2015-03-07 13:00"

say "Would a warmer shop, or a friend who also comes on Wednesday evenings, help?"
show compare table --temp 20C --crew-hours "Wed 18:00-21:00, Sat 9:00-17:00" --as-of "2015-03-07 13:00"

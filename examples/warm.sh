#!/bin/sh
# A tabletop of 6 ft by 3.5 ft, cast in an unheated garage in June: its whole life, from the form to the day it may be
# used, on real hourly weather, by curetrack commands only. See warm-and-cold.md.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
data=$here/data/warm-garage.csv
. "$here/maker.sh"

say "What it takes. The time zone is the one that the weather was measured in."
show shop --set timezone=EST5EDT --set units=us
show takeoff --size 6ftx3.5ftx1.5in

say "The form, on two evenings and on Saturday morning."
fact pour table --planned --profile bagged-tabletop --size 6ftx3.5ftx1.5in
fact done table weather --at "2013-06-06 19:00"
fact done table form --at "2013-06-06 21:30"
fact skip table knock-outs --at "2013-06-06 21:30"
fact done table level --at "2013-06-06 21:50"
fact done table seal-joints --at "2013-06-07 19:00"
fact done table clean --at "2013-06-08 08:00"
fact done table release --at "2013-06-08 08:20"
fact done table reinforce --at "2013-06-08 09:20"
fact done table lay-out --crew 2 --at "2013-06-08 09:50"
fact done table mix --crew 2 --at "2013-06-08 10:55"

say "Saturday: the pour, and in the afternoon the trowel, when a thumb dents the back 3 to 6 mm."
logger "2013-06-08 11:00"
fact pour table --temp 64F --at "2013-06-08 11:00"
fact done table vibrate --crew 2 --at "2013-06-08 11:15"
fact done table screed --crew 2 --at "2013-06-08 11:35"
fact done table cover-1 --at "2013-06-08 11:45"
fact done table trowel-back --at "2013-06-08 16:00"
fact done table free --at "2013-06-08 16:10"
fact done table cover-2 --at "2013-06-08 16:25"

say "The evening of the pour. Until the logger is read again, the coming days are taken to be like the last one."
logger "2013-06-08 21:00"
fact shop --forecast last-day --at "2013-06-08 21:00"
show sheet table --as-of "2013-06-08 21:00"
fact done table mist --at "2013-06-08 21:10"
fact done table prepare-lift --at "2013-06-08 21:30"

say "Could the sides come off before going to bed?"
refused done table strip --at "2013-06-08 22:00"

say "Sunday, the first morning. A coin leaves no mark on a hidden edge."
logger "2013-06-09 08:00"
show sheet table --as-of "2013-06-09 08:00"
fact done table strip --check pass --at "2013-06-09 08:30"
fact skip table unblock --at "2013-06-09 08:30"
fact done table ease-back --at "2013-06-09 09:20"
fact done table re-cover --at "2013-06-09 09:30"
fact done table mist --at "2013-06-09 19:00"

say "Monday after work, before the flip. The test bar carries its 50 kg, and three friends have come."
fact done table mist --at "2013-06-10 06:30"
logger "2013-06-10 18:00"
show sheet table --as-of "2013-06-10 18:00"
fact check table flip pass --at "2013-06-10 18:30"
fact done table flip --crew 4 --grip long-edge --at "2013-06-10 19:00"
fact done table base-off --crew 4 --at "2013-06-10 19:15"
fact done table block-up --check pass --crew 4 --at "2013-06-10 19:30"
fact done table ease-face --at "2013-06-10 20:30"
fact done table cure-both --at "2013-06-10 20:45"
fact done table colour-tile --at "2013-06-10 21:15"

say "The evenings until Sunday: sand, fill, sand, fill, sand."
logger "2013-06-11 20:00"
fact done table uncover --at "2013-06-11 20:00"
logger "2013-06-12 18:30"
fact done table sand-120 --check pass --at "2013-06-12 19:45"
fact done table clean-holes --at "2013-06-12 20:10"
fact done table slurry --at "2013-06-12 21:00"
fact done table cover-slurry --at "2013-06-12 21:10"
logger "2013-06-13 21:00"
show today --as-of "2013-06-13 20:30"
fact done table try-sealer --check pass --at "2013-06-13 20:45"
logger "2013-06-14 18:30"
fact done table sand-220 --check pass --at "2013-06-14 19:30"
fact done table look --at "2013-06-14 19:50"
fact done table clean-holes --at "2013-06-14 20:15"
fact done table slurry --at "2013-06-14 21:00"
fact done table cover-slurry --at "2013-06-14 21:10"
logger "2013-06-16 09:00"
fact done table sand-220 --check pass --at "2013-06-16 09:00"
fact done table look --check pass --at "2013-06-16 09:30"
fact done table dust-off --at "2013-06-16 10:00"

say "Wednesday, before sealing: it has dried for three days, and the air is dry enough."
logger "2013-06-19 18:00"
show sheet table --as-of "2013-06-19 18:00"
fact done table dry-out --check pass --at "2013-06-19 18:15"
fact done table seal-under-1 --check pass --at "2013-06-19 18:45"
fact done table seal-under-2 --check pass --at "2013-06-19 20:30"
fact skip table turn --at "2013-06-19 20:30"

say "Thursday evening: four thin coats on top."
logger "2013-06-20 18:00"
for coat in 1 2 3 4; do
    fact skip table damp-$coat --at "2013-06-20 17:45"
done
fact done table seal-top-1 --check pass --at "2013-06-20 18:00"
fact done table seal-top-2 --check pass --at "2013-06-20 19:15"
fact done table seal-top-3 --check pass --at "2013-06-20 20:30"
fact done table seal-top-4 --check pass --at "2013-06-20 21:45"

say "Sunday: the drop stays on top, and the table goes to its place."
logger "2013-06-23 09:00"
fact done table cure-seal --at "2013-06-23 09:00"
fact done table water-test --check pass --at "2013-06-23 09:15"
fact skip table wax --at "2013-06-23 09:15"
fact done table carry --crew 4 --grip on-edge --at "2013-06-23 15:00"
fact done table set-on-base --crew 4 --at "2013-06-23 16:00"

say "Friday: a week after the last coat it may be used like any table."
logger "2013-06-28 18:00"
fact done table in-service --at "2013-06-28 18:00"
show sheet table --all --as-of "2013-06-28 18:30"

#!/bin/sh
# A bench top of 1.5 m by 0.5 m, cast in the same kind of garage in November, before two cold nights: its whole life,
# from the pour to the day it may be used, on real hourly weather, by curetrack commands only. See warm-and-cold.md.
set -eu
here=$(cd "$(dirname "$0")" && pwd)
data=$here/data/cold-garage.csv
. "$here/maker.sh"

show shop --set timezone=EST5EDT --set units=metric
show takeoff --size 1500x500x40mm

say "Saturday afternoon: it is mild still. What was done before the pour is not written down."
logger "2001-11-10 14:00"
fact pour bench --profile bagged-tabletop --size 1500x500x40mm --temp 17C --at "2001-11-10 14:00"
fact done bench vibrate --crew 2 --at "2001-11-10 14:15"
fact done bench screed --crew 2 --at "2001-11-10 14:30"
fact done bench cover-1 --at "2001-11-10 14:40"
logger "2001-11-10 20:30"
fact done bench trowel-back --at "2001-11-10 20:45"
fact done bench free --at "2001-11-10 20:55"
fact done bench cover-2 --at "2001-11-10 21:00"

say "The evening of the pour. As long as nothing is known of the weather, the garage is taken to go on as it did."
logger "2001-11-10 21:00"
show sheet bench --as-of "2001-11-10 21:00"

say "Then the forecast, as the weather report has it: two cold nights, the second with frost outside."
show shop --forecast low/high 8/17C 4/13C -2/16C --at "2001-11-10 21:15" --as-of "2001-11-10 21:15"
show today --as-of "2001-11-10 21:15"

say "Sunday, the first morning. Could the sides come off?"
logger "2001-11-11 09:00"
show sheet bench --as-of "2001-11-11 09:00"
fact done bench mist --at "2001-11-11 09:10"
refused done bench strip --at "2001-11-11 09:15"

say "In the evening a check counts already. The coin leaves a mark."
logger "2001-11-11 19:00"
fact check bench strip fail --at "2001-11-11 19:10"

say "Monday before work, after the first cold night. Now it leaves none."
logger "2001-11-12 06:30"
show today --as-of "2001-11-12 06:30"
fact done bench strip --check pass --at "2001-11-12 06:40"
fact skip bench unblock --at "2001-11-12 06:40"
fact done bench ease-back --at "2001-11-12 07:10"
fact done bench re-cover --at "2001-11-12 07:20"
fact done bench prepare-lift --at "2001-11-12 19:30"
fact done bench mist --at "2001-11-12 19:40"
fact done bench mist --at "2001-11-13 19:00"

say "Wednesday after work, before the flip: two cold nights are over, a milder spell is forecast."
logger "2001-11-14 18:30"
fact shop --forecast low/high 3/22C 6/22C 9/17C 8/11C 11/20C 9/22C --at "2001-11-14 18:30"
show sheet bench --as-of "2001-11-14 18:30"
fact done bench mist --at "2001-11-14 18:35"
fact check bench flip pass --at "2001-11-14 18:45"
fact done bench flip --crew 2 --grip long-edge --at "2001-11-14 19:00"
fact done bench base-off --crew 2 --at "2001-11-14 19:10"
fact done bench block-up --check pass --crew 2 --at "2001-11-14 19:20"
fact done bench ease-face --at "2001-11-14 20:00"
fact done bench cure-both --at "2001-11-14 20:10"
fact done bench colour-tile --at "2001-11-14 20:30"

say "The tent stays on until 72 hours of equivalent age; then sand and fill once."
logger "2001-11-16 19:00"
show today --as-of "2001-11-16 19:00"
fact done bench uncover --at "2001-11-16 19:00"
logger "2001-11-18 20:00"
show today --as-of "2001-11-18 20:00"

say "By Monday the dry wind has done more than the damp Sunday let expect."
logger "2001-11-19 18:30"
fact done bench sand-120 --check pass --at "2001-11-19 19:15"
fact done bench clean-holes --at "2001-11-19 19:30"
fact done bench slurry --at "2001-11-19 20:00"
fact done bench cover-slurry --at "2001-11-19 20:10"
logger "2001-11-21 19:00"
fact done bench sand-220 --check pass --at "2001-11-21 19:30"
fact done bench look --check pass --at "2001-11-21 19:45"
fact done bench dust-off --at "2001-11-21 20:00"
logger "2001-11-22 10:00"
fact done bench try-sealer --check pass --at "2001-11-22 10:30"

say "Two days later it is dry and old enough, but the cold is back: no sealer under 10 degC."
logger "2001-11-24 10:00"
fact shop --forecast low/high -1/11C -1/14C 4/9C 3/7C --at "2001-11-24 10:00"
fact done bench dry-out --check pass --at "2001-11-24 10:15"
show today --as-of "2001-11-24 10:20"
refused done bench seal-under-1 --check pass --at "2001-11-24 10:30"

say "It waits for a mild weekend, the second in December. Before sealing:"
logger "2001-12-07 19:00"
fact shop --forecast low/high 4/23C 3/22C 9/19C 3/16C --at "2001-12-07 19:00"
show sheet bench --as-of "2001-12-07 19:00"
fact done bench seal-under-1 --check pass --at "2001-12-07 19:30"
fact done bench seal-under-2 --check pass --at "2001-12-07 20:45"
fact skip bench turn --at "2001-12-07 20:45"
logger "2001-12-08 11:00"
for coat in 1 2 3 4; do
    fact skip bench damp-$coat --at "2001-12-08 10:45"
done
fact done bench seal-top-1 --check pass --at "2001-12-08 11:00"
fact done bench seal-top-2 --check pass --at "2001-12-08 12:15"
fact done bench seal-top-3 --check pass --at "2001-12-08 13:30"
fact done bench seal-top-4 --check pass --at "2001-12-08 14:45"

say "After two days alone: the drop, and to its place."
logger "2001-12-10 19:00"
fact done bench cure-seal --at "2001-12-10 19:00"
fact done bench water-test --check pass --at "2001-12-10 19:15"
fact skip bench wax --at "2001-12-10 19:15"
fact done bench carry --crew 2 --grip on-edge --at "2001-12-11 18:30"
fact done bench set-on-base --crew 2 --at "2001-12-11 19:15"

say "A week after the last coat."
logger "2001-12-15 16:00"
fact done bench in-service --at "2001-12-15 16:00"
show sheet bench --all --as-of "2001-12-15 16:30"

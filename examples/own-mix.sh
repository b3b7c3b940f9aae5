#!/bin/sh
# A mix of one's own: broken cylinders become a profile, and a tabletop is poured by it, on real hourly weather. The
# breaks are invented (data/own-breaks.csv), the temperatures are not (data/README.md).
set -eu
here=$(cd "$(dirname "$0")" && pwd)
data=$here/data/warm-garage.csv
. "$here/maker.sh"
cd "$scratch"
cp "$here/data/own-breaks.csv" breaks.csv

say "What the breaks tell. Nothing is written yet."
fact shop --set timezone=EST5EDT --set units=metric
show fit breaks.csv

say "The same as a profile: bagged-tabletop with this mix. It is checked like any other."
fact fit breaks.csv --profile bagged-tabletop --write own-mix.toml
show profiles --check own-mix.toml

say "Two tabletops poured at the same hour, one by the profile as it ships, one by the fitted mix."
logger "2013-06-08 11:00"
fact pour shipped --profile bagged-tabletop --size 1800x1050x38mm --temp 18C --at "2013-06-08 11:00"
fact pour own --profile own-mix.toml --size 1800x1050x38mm --temp 18C --at "2013-06-08 11:00"
for piece in shipped own; do
    fact done $piece vibrate --crew 2 --at "2013-06-08 11:15"
    fact done $piece screed --crew 2 --at "2013-06-08 11:35"
    fact done $piece cover-1 --at "2013-06-08 11:45"
    fact done $piece trowel-back --at "2013-06-08 16:00"
    fact done $piece free --at "2013-06-08 16:10"
    fact done $piece cover-2 --at "2013-06-08 16:25"
done

say "Too soon is too soon by either; how sure each is of the strip differs."
logger "2013-06-08 22:00"
refused done shipped strip --at "2013-06-08 22:00"
refused done own strip --at "2013-06-08 22:00"

say "The next morning."
logger "2013-06-09 08:00"
show sheet own --as-of "2013-06-09 08:00"
fact done own strip --check pass --at "2013-06-09 08:30"

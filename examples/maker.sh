# Read by warm.sh and cold.sh: what they say, and how they show it. Each helper prints the command it runs.
#
# CURETRACK       the command, if it is not called curetrack (words are split: "python3 -m curetrack")
# CURETRACK_HOME  where the ledger is kept; a new folder, removed at the end, unless it is set

curetrack=${CURETRACK:-curetrack}
case $curetrack in  # a path from here is still one after a cd
    /*) ;;
    *' '*) ;;
    */*) curetrack=$(pwd)/$curetrack ;;
esac
scratch=$(mktemp -d)
trap 'rm -rf "$scratch"' EXIT
trap 'exit 130' INT
trap 'exit 143' TERM
CURETRACK_HOME=${CURETRACK_HOME:-$scratch/home}
export CURETRACK_HOME

# The command as it would be typed.
typed() {
    printf '$ curetrack'
    for word; do
        case $word in
            *' '*) printf ' "%s"' "$word" ;;
            *) printf ' %s' "$word" ;;
        esac
    done
    printf '\n'
}

# A command and its whole answer.
show() {
    printf '\n'
    typed "$@"
    $curetrack "$@"
}

# A command and the first paragraph of its answer. What follows tells what is next today, long after this story.
fact() {
    typed "$@"
    $curetrack "$@" >"$scratch/answer"
    sed '/^$/,$d' "$scratch/answer"
}

# The logger's file as it stands at that moment: it grows, and is read whole each time.
logger() {
    awk -F, -v now="$1" '{ at = substr($1, 1, 16); sub("T", " ", at) } NR == 1 || at <= now' "$data" >"$scratch/logger.csv"
    printf '\n'
    typed temp --from logger.csv --place air
    $curetrack temp --from "$scratch/logger.csv" --place air >"$scratch/answer"
    grep -E 'readings? added' "$scratch/answer"
}

# A command that has to be answered with no (exit code 1); the story goes on.
refused() {
    printf '\n'
    typed "$@"
    code=0
    $curetrack "$@" 2>&1 || code=$?
    if [ "$code" -ne 1 ]; then
        echo "this was to be refused with exit code 1, not $code" >&2
        exit 3
    fi
    printf '(exit code 1)\n'
}

say() {
    printf '\n# %s\n' "$*"
}

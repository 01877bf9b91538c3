# SPDX-License-Identifier: Apache-2.0
# Bash completion of isthmus and isthmus-sim. Needs bash 4.4 and nothing else.

_isthmus_commands='import inspect fixture plan test guide report history zero adapters'
_isthmus_stages='etched-top etched-bottom etched joined finished'
_isthmus_schemes='serial: usb: tcp: pty: sim:'
_isthmus_board_keys='--name --stage --joins --netlist --artwork.top --artwork.bottom --artwork.inner
  --artwork.outline --mask.top --mask.bottom --holes --net-ties --links --waive --placed.top --placed.bottom
  --copper.thickness --copper.temperature --process.gap --process.track --process.undercut --process.registration
  --process.drill-wander --limits.continuity --limits.isolation --limits.bridge --limits.excess --limits.voltage
  --limits.window'

_isthmus_options() {
  case $1 in
    '') echo --help --version ;;
    import) echo --help --out --name --stage --force ;;
    inspect) echo --help --help-keys --notes --json --inch --origin --between --resistances --tip --export-netlist --page $_isthmus_board_keys ;;
    fixture) echo --help --help-keys --notes --channels --contact-check --out --force --drill --sheet $_isthmus_board_keys ;;
    guide)
      echo --help --help-keys --notes --channels --needles --forked --contact-check --clips --cannot-reach --plan --clip-sheet --save-clips \
        --adapter --unit --record --report --resume --no-page --open --port --mute --origin --relaxed --force --json --inch $_isthmus_board_keys
      ;;
    plan) echo --help --help-keys --notes --fixture --json --resistances --inch --wires $_isthmus_board_keys ;;
    test)
      echo --help --help-keys --notes --fixture --adapter --unit --record --report --on-placement --on-lift --resume --zero --json --inch \
        --origin --relaxed $_isthmus_board_keys ;;
    report) echo --help --record --report --json --inch --origin ;;
    history) echo --help --record ;;
    zero) echo --help --fixture --adapter --out --on-placement --on-lift ;;
    adapters) echo --help --check --thorough --fixture --json ;;
    sim) echo --help --fixture --events --pty --tcp --gadget --udc --with-parent ;;
  esac
}

_isthmus_flags=' --help --help-keys --version --force --notes --json --inch --contact-check --resistances --resume --relaxed --thorough --pty --gadget --with-parent --forked --plan --no-page --open --mute '

# Bash cuts words at ':' and '='; here they are whole again, up to the cursor, in `words`.
_isthmus_words() {
  local line=${COMP_LINE:0:COMP_POINT} rest piece i
  words=()
  for ((i = 0; i <= COMP_CWORD; i++)); do
    rest=${line#"${line%%[![:space:]]*}"}
    piece=${COMP_WORDS[i]}
    ((i < COMP_CWORD)) || piece=$rest
    if [[ ${#rest} -eq ${#line} && ${#words[@]} -gt 0 ]]; then
      words[-1]+=$piece
    else
      words+=("$piece")
    fi
    line=${rest#"$piece"}
  done
}

# The part of `cur` that bash takes for words of their own.
_isthmus_kept() {
  local sign part
  kept=
  for sign in : =; do
    [[ $COMP_WORDBREAKS == *$sign* && $cur == *$sign* ]] || continue
    part=${cur%"${cur##*$sign}"}
    ((${#part} <= ${#kept})) || kept=$part
  done
}

_isthmus_offer() {  # prefix, then arguments of compgen
  local prefix=$1 reply
  shift
  while IFS= read -r reply; do
    reply=$prefix$reply
    COMPREPLY+=("${reply#"$kept"}")
  done < <(compgen "$@")
}

_isthmus_words_only() { compopt +o default 2>/dev/null; }

# Where nothing is offered for a file, readline itself has a try: it knows quotes and '~'.
_isthmus_files() {  # prefix, value, -f or -d
  compopt -o filenames 2>/dev/null
  _isthmus_offer "$1" "$3" -- "$2"
}

_isthmus_address() {  # prefix, value
  case $2 in
    sim:*) _isthmus_files "$1sim:" "${2#sim:}" -f ;;
    serial:@* | usb:* | tcp:*) _isthmus_words_only ;;
    serial:* | pty:*)
      local scheme=${2%%:*}: path=${2#*:}
      _isthmus_files "$1$scheme" "${path:-/dev/}" -f ;;
    *)
      _isthmus_words_only
      compopt -o nospace 2>/dev/null
      _isthmus_offer "$1" -W "$_isthmus_schemes" -- "$2" ;;
  esac
}

_isthmus_value() {  # option, prefix, value
  case $1 in
    --adapter | --check) _isthmus_address "$2" "$3" ;;
    --netlist)
      _isthmus_files "$2" "$3" -f
      _isthmus_offer "$2" -W 'gerber-x2 artwork' -- "$3" ;;
    --artwork.top | --artwork.bottom | --artwork.outline | --mask.top | --mask.bottom | --fixture | --events | --out | \
      --drill | --sheet | --clips | --clip-sheet | --save-clips | --record | --export-netlist | --page | --zero)
      _isthmus_files "$2" "$3" -f ;;
    --report) _isthmus_files "$2" "$3" -d ;;
    --stage) _isthmus_words_only; _isthmus_offer "$2" -W "$_isthmus_stages" -- "$3" ;;
    --joins) _isthmus_words_only; _isthmus_offer "$2" -W 'all none plated' -- "$3" ;;
    --origin) _isthmus_words_only; _isthmus_offer "$2" -W 'artwork corner' -- "$3" ;;
    --wires) _isthmus_words_only; _isthmus_offer "$2" -W '2 4' -- "$3" ;;
    --needles) _isthmus_words_only; _isthmus_offer "$2" -W '1 2' -- "$3" ;;
    --on-placement | --on-lift) _isthmus_words_only; _isthmus_offer "$2" -c -- "$3" ;;
    *) _isthmus_words_only ;;  # a text or number of the user's own
  esac
}

_isthmus_complete() {  # command, words before the cursor
  local command=$1
  shift
  local before=${*: -1} earlier=
  (($# < 2)) || earlier=${*: -2:1}
  if [[ $cur == --*=* ]]; then
    _isthmus_value "${cur%%=*}" "${cur%%=*}=" "${cur#*=}"
  elif [[ $before == --* && $before != *=* && $_isthmus_flags != *" $before "* ]]; then
    _isthmus_value "$before" '' "$cur"
  elif [[ $earlier == --between ]]; then
    _isthmus_words_only
  elif [[ $cur == -* ]]; then
    _isthmus_words_only
    _isthmus_offer '' -W "$(_isthmus_options "$command")" -- "$cur"
  else
    case $command in
      '') _isthmus_words_only; _isthmus_offer '' -W "$_isthmus_commands" -- "$cur" ;;
      report | history | adapters) _isthmus_words_only ;;
      *) _isthmus_files '' "$cur" -f ;;
    esac
  fi
}

_isthmus() {
  local words cur kept command='' word
  COMPREPLY=()
  _isthmus_words
  cur=${words[-1]}
  _isthmus_kept
  for word in "${words[@]:1:${#words[@]}-2}"; do
    [[ $word == -* ]] || { command=$word; break; }
  done
  _isthmus_complete "$command" "${words[@]:0:${#words[@]}-1}"
}

_isthmus_sim() {
  local words cur kept
  COMPREPLY=()
  _isthmus_words
  cur=${words[-1]}
  _isthmus_kept
  _isthmus_complete sim "${words[@]:0:${#words[@]}-1}"
}

complete -o default -F _isthmus isthmus
complete -o default -F _isthmus_sim isthmus-sim

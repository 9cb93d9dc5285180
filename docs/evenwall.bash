# SPDX-License-Identifier: GPL-3.0-or-later
# Completes the command line of evenwall in bash. Source this file, or install it as share/bash-completion/completions/evenwall.
# tests/cli/completion_test.py compares it with the --help of each command.
# shellcheck shell=bash

_evenwall_commands="measure solve calibrate survey report simulate new watch"

_evenwall_options() {
  local common="-h --help --version --quiet --strict --wait -o"
  case $1 in
    new) echo "${common% -o}" ;;
    watch) echo "${common% -o} --json --jobs --tolerance --bell" ;;
    measure) echo "$common --json --jobs --tilt-deg --tilt-units --tilt-u --use --session --frequency --rpm --bands --rejected --append --name --keep --sha256 --split" ;;
    solve)
      echo "$common --json --jobs --frequency --gauge-u --gauge-zero-u --record-u --tilt-limit --from-tilt --calibration" \
        "--record-correction --tolerance --sha256 --aim --band --weighting --full --chart --table --csv --steps-csv"
      ;;
    calibrate) echo "$common --json --jobs" ;;
    survey) echo "$common --json --by --csv" ;;
    report) echo "$common" ;;
    simulate) echo "$common --json --scenario --seed" ;;
    *) echo "-h --help --version" ;;
  esac
}

# Prints the typed part of a name without its opening quote and its backslashes. The typed text is never evaluated.
_evenwall_unquoted() {
  local typed=$1
  if [[ $typed == [\'\"]* ]]; then
    typed=${typed:1}
  else
    typed=${typed//\\/}
  fi
  printf '%s' "$typed"
}

# Offers folders, and files with one of the endings that are given after the first word, in upper or lower case. The first word is the typed text.
_evenwall_files() {
  local typed path ending
  typed=$(_evenwall_unquoted "$1")
  shift
  compopt -o filenames 2>/dev/null
  while IFS= read -r path; do
    if [[ -d $path || $# -eq 0 ]]; then
      COMPREPLY+=("$path")
      continue
    fi
    for ending in "$@"; do
      [[ ${path,,} == *."$ending" ]] && COMPREPLY+=("$path")
    done
  done < <(compgen -f -- "$typed")
}

# Offers folders. The argument is the typed text.
_evenwall_folders() {
  compopt -o filenames 2>/dev/null
  mapfile -t COMPREPLY < <(compgen -d -- "$(_evenwall_unquoted "$1")")
}

# Use only with words of this file, because compgen -W evaluates them.
_evenwall_words() {
  local typed=$1
  shift
  mapfile -t COMPREPLY < <(compgen -W "$*" -- "$typed")
}

# Completes the last band of a list (left,right,…) with a band that the list does not have yet. compgen -W would evaluate the typed text.
_evenwall_bands() {
  local typed=$1 before="" band
  [[ $typed == *,* ]] && before=${typed%,*},
  for band in left right lateral vertical; do
    if [[ ,$before != *,"$band",* && $before$band == "$typed"* ]]; then
      COMPREPLY+=("$before$band")
    fi
  done
}

# Completes the value of an option. Fails if the option takes no value.
_evenwall_value() {
  local command=$1 option=$2 typed=$3
  case $option in
    --use) _evenwall_words "$typed" yes no verify as_found ;;
    --bands) _evenwall_bands "$typed" ;;
    --aim) _evenwall_words "$typed" equal least phase band ;;
    --weighting) _evenwall_words "$typed" flat a ;;
    --by) _evenwall_words "$typed" cartridge_model rig operator record record_side ;;
    --session | --calibration | --record-correction | --scenario) _evenwall_files "$typed" json ;;
    --append) _evenwall_files "$typed" jsonl ;;
    --keep) _evenwall_files "$typed" wav flac ;;
    -o)
      if [[ $command == simulate ]]; then
        _evenwall_folders "$typed"
      else
        _evenwall_files "$typed"
      fi
      ;;
    --tilt-deg | --tilt-units | --tilt-u | --frequency | --rpm | --jobs | --wait | --gauge-u | --gauge-zero-u | --record-u | --tilt-limit | --from-tilt | --tolerance | --band | --seed | --name) ;;
    *) return 1 ;;
  esac
}

_evenwall_inputs() {
  local command=$1 typed=$2
  case $command in
    measure | calibrate) _evenwall_files "$typed" wav rf64 w64 aif aiff aifc flac ;;
    solve) _evenwall_files "$typed" csv jsonl ;;
    survey) _evenwall_files "$typed" json jsonl ;;
    new | watch) _evenwall_folders "$typed" ;;
    report) _evenwall_files "$typed" json ;;
  esac
}

_evenwall() {
  local typed=${COMP_WORDS[COMP_CWORD]} before="" command="" word
  ((COMP_CWORD > 0)) && before=${COMP_WORDS[COMP_CWORD - 1]}
  COMPREPLY=()
  # bash splits --use=yes into three words.
  if [[ $typed == "=" ]]; then
    typed=""
  elif [[ $before == "=" ]] && ((COMP_CWORD > 1)); then
    before=${COMP_WORDS[COMP_CWORD - 2]}
  fi
  for word in "${COMP_WORDS[@]:1:COMP_CWORD-1}"; do
    if [[ " $_evenwall_commands " == *" $word "* ]]; then
      command=$word
      break
    fi
  done
  if [[ -n $command ]] && _evenwall_value "$command" "$before" "$typed"; then
    return
  fi
  if [[ $typed == -* ]]; then
    _evenwall_words "$typed" "$(_evenwall_options "$command")"
  elif [[ -z $command ]]; then
    _evenwall_words "$typed" "$_evenwall_commands"
  else
    _evenwall_inputs "$command" "$typed"
  fi
}

complete -F _evenwall evenwall

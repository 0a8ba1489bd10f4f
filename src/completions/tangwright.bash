# bash completion for tangwright
_tangwright()
{
    local word=${COMP_WORDS[COMP_CWORD]} before=${COMP_WORDS[COMP_CWORD - 1]} verb=${COMP_WORDS[1]}
    local verbs="new check preview plan compare dry-run calibrate straighten balance gauge run fixture bench profiles --help --version" options=""

    if [ "$COMP_CWORD" -eq 1 ]; then
        COMPREPLY=($(compgen -W "$verbs" -- "$word"))
        return
    fi
    case $before in
    --out | --export)
        COMPREPLY=($(compgen -d -- "$word"))
        return ;;
    --json | --sheet | --survey)
        COMPREPLY=($(compgen -f -- "$word"))
        return ;;
    --lift | --cell | --at | --stations | --gauge | --tolerance | --done | --not-done | --port | --dressed | --not-dressed)
        return ;;
    esac
    case $verb in
    check) options="--json --sheet --plot" ;;
    preview) options="--json --sheet --detail" ;;
    plan) options="--out --lift --detail" ;;
    compare) options="--json --sheet" ;;
    dry-run) options="--json --cell --sheet --strict" ;;
    calibrate) options="--json" ;;
    straighten) options="--survey --json" ;;
    balance) options="--at --json" ;;
    gauge) options="--json --gauge --tolerance --roughed --finished" ;;
    run) options="--out --json --status --done --not-done --dressed --not-dressed --export" ;;
    fixture) options="--out --stations" ;;
    bench) options="--port --no-browser" ;;
    profiles)
        COMPREPLY=($(compgen -W "$(tangwright profiles | sed -n 's/^  \([^ ]*\) .*/\1/p') --help" -- "$word"))
        return ;;
    esac
    case $word in
    -*) COMPREPLY=($(compgen -W "$options --help" -- "$word")) ;;
    *) COMPREPLY=($(compgen -f -- "$word")) ;;
    esac
}
complete -o filenames -F _tangwright tangwright

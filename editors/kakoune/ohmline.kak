# Ohmline in Kakoune: file type, colors, comments, indentation.
#
# The language server comes by kak-lsp; see README.md beside this file.

# BEGIN WORDS
declare-option -hidden str ohmline_statements 'circuit|include|let|reference|claim|find|given|measured|case|part|repeat|end'
declare-option -hidden str ohmline_kinds 'battery|source|resistor|lamp|switch|changeover|potentiometer|fuse|ammeter|voltmeter|capacitor|electrolytic|inductor|diode'
declare-option -hidden str ohmline_quantities 'current|voltage|potential|resistance|capacitance|power|charge|energy|value'
declare-option -hidden str ohmline_connectives 'through|into|across|between|seen|by|of|series|parallel|at|within|after|in|to|from|and'
declare-option -hidden str ohmline_states 'open|closed|shorted'
declare-option -hidden str ohmline_options 'internal|capacity|limit|tolerance|rating|resistance|range|initial'
declare-option -hidden str ohmline_unit '[fpnuµmkMGμ]?(?:ohm|Ω|Ω|Ah|Wh|Hz|V|A|W|F|H|S|C|J|s)'
# END WORDS

hook global BufCreate .*[.]ohmline %{
    set-option buffer filetype ohmline
}

hook global WinSetOption filetype=ohmline %{
    require-module ohmline
    set-option window static_words %opt{ohmline_all_words}
    hook window InsertChar \n -group ohmline-indent ohmline-indent-on-new-line
    hook -once -always window WinSetOption filetype=.* %{ remove-hooks window ohmline-.+ }
}

hook -group ohmline-highlight global WinSetOption filetype=ohmline %{
    add-highlighter window/ohmline ref ohmline
    hook -once -always window WinSetOption filetype=.* %{ remove-highlighter window/ohmline }
}

hook global BufSetOption filetype=ohmline %{
    set-option buffer indentwidth 2
    # An option of comment.kak, which comes with the editor.
    try %{ set-option buffer comment_line '#' }
}

declare-option -hidden str-list ohmline_all_words

provide-module ohmline %{
    add-highlighter shared/ohmline regions
    add-highlighter shared/ohmline/code default-region group
    add-highlighter shared/ohmline/doc region '##' '$' fill documentation
    add-highlighter shared/ohmline/comment region '#' '$' fill comment
    add-highlighter shared/ohmline/text region '"' '("|$)' fill string

    # Patterns are put together here, from the lists above.
    evaluate-commands %sh{
        question='^\h*(?:claim|find|given|measured|repeat)\b[^#\n]*?\h'
        cat <<PATTERNS
add-highlighter shared/ohmline/code/ regex '^\h*($kak_opt_ohmline_statements)\b' 1:keyword
add-highlighter shared/ohmline/code/ regex '^\h*($kak_opt_ohmline_kinds)\b' 1:type
add-highlighter shared/ohmline/code/ regex '^\h*part\h+(\w+)' 1:type
add-highlighter shared/ohmline/code/ regex '(?<![.@\w])($kak_opt_ohmline_quantities)\b' 1:function
add-highlighter shared/ohmline/code/ regex '=\h*($kak_opt_ohmline_states)\b' 1:value
add-highlighter shared/ohmline/code/ regex ',\h*($kak_opt_ohmline_options)\h+[\d?(-]' 1:attribute
add-highlighter shared/ohmline/code/ regex '(?<![\w.@])\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?:[^\W\d]+\d*|\h*%|\h+$kak_opt_ohmline_unit\b)?' 0:value
PATTERNS
        # Connectives may be names elsewhere; they count in questions and claims.
        for word in $(printf '%s' "$kak_opt_ohmline_connectives" | tr '|' ' '); do
            cat <<PATTERNS
add-highlighter shared/ohmline/code/ regex '$question($word)\b' 1:keyword
PATTERNS
        done
        words="$kak_opt_ohmline_statements|$kak_opt_ohmline_kinds|$kak_opt_ohmline_quantities|$kak_opt_ohmline_connectives"
        echo "set-option global ohmline_all_words $(printf '%s' "$words" | tr '|' ' ')"
    }
    add-highlighter shared/ohmline/code/ regex '@[\w.{}+]+' 0:variable
    add-highlighter shared/ohmline/code/ regex '--+|[|=]' 0:operator

    define-command -hidden ohmline-indent-on-new-line %{
        evaluate-commands -draft -itersel %{
            # As the line above, one step deeper behind the head of a block.
            try %{ execute-keys -draft <semicolon>K<a-&> }
            try %{ execute-keys -draft k x <a-k>^\h*(part|repeat)\b<ret> j<a-gt> }
        }
    }
}

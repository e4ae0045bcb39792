# The language server in Kakoune, for kak-lsp 18 (its own commands must have been loaded before).

hook -group ohmline-lsp global BufSetOption filetype=ohmline %{
    set-option buffer lsp_servers %{
        [ohmline]
        root_globs = ["ohmline.toml"]
        command = "ohmline"
        args = ["serve"]

        [ohmline.settings.ohmline]
        hints = { enabled = true, paths = false }
    }
}

define-command -hidden ohmline-beside-the-text %{
    lsp-inlay-hints-enable window
    # Kakoune 2024 and later.
    try %{ lsp-inlay-diagnostics-enable window }
}

hook -group ohmline-lsp global WinSetOption filetype=ohmline %{
    lsp-enable-window
    ohmline-beside-the-text
}

# The settings of circuits.
hook -group ohmline-lsp global WinCreate .*/ohmline\.toml %{
    set-option buffer lsp_servers %{
        [ohmline]
        root_globs = ["ohmline.toml"]
        command = "ohmline"
        args = ["serve"]
    }
    lsp-enable-window
    try %{ lsp-inlay-diagnostics-enable window }
}

define-command ohmline-fix-all -docstring 'apply every safe fix in this buffer, and wait for that' %{
    # Where there is nothing to fix, that is no failure.
    try %{ lsp-code-actions-sync source.fixAll.ohmline }
}

# Circuits in Markdown: `ohmline-in-markdown`, for a hook of your own (see README.md). It takes the place of other servers for the buffer.
define-command ohmline-in-markdown -docstring 'check the circuits of this Markdown buffer, if it holds any' %{
    try %{
        # A fence marked `ohmline`, also in quotes and lists.
        execute-keys -draft '%s^[\h>*+\d.)-]*(?:```+|~~~+)\h*ohmline\b<ret>'
        set-option buffer lsp_servers %{
            [ohmline]
            root_globs = ["ohmline.toml"]
            command = "ohmline"
            args = ["serve"]
        }
        lsp-enable-window
        ohmline-beside-the-text
    }
}

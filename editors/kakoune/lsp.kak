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

hook -group ohmline-lsp global WinSetOption filetype=ohmline %{
    lsp-enable-window
    lsp-inlay-hints-enable window
    lsp-inlay-diagnostics-enable window
}

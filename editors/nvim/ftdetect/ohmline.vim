" `set`, not `setfiletype`: a file that begins with a comment has been taken for `conf` by now.
autocmd BufRead,BufNewFile *.ohmline set filetype=ohmline
" Neovim before 0.8 takes no notice of some names in TOML.
autocmd BufRead,BufNewFile ohmline.toml set filetype=toml

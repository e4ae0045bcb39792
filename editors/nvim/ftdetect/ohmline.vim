" `set`, not `setfiletype`: a file that begins with a comment has been taken for `conf` by now.
autocmd BufRead,BufNewFile *.ohmline set filetype=ohmline

if vim.b.did_ftplugin then
  return
end
vim.b.did_ftplugin = 1

vim.bo.commentstring = '# %s'
vim.bo.comments = 'b:##,b:#'

-- The tree-sitter grammar, where it has been compiled (see README.md); else the patterns of syntax/ohmline.vim.
if vim.treesitter.start then
  pcall(vim.treesitter.start, 0, 'ohmline')
end

-- From 0.11 on the editor starts the server by itself: see plugin/ohmline.lua.
if not vim.lsp.enable then
  require('ohmline').start(vim.api.nvim_get_current_buf())
end

if vim.b.did_ftplugin then
  return
end
vim.b.did_ftplugin = 1

vim.bo.commentstring = '# %s'
vim.bo.comments = 'b:##,b:#'

-- From 0.11 on the editor starts the server by itself: see plugin/ohmline.lua.
if not vim.lsp.enable then
  require('ohmline').start(vim.api.nvim_get_current_buf())
end

-- Neovim 0.11 and later: the server is described in lsp/ohmline.lua.
if vim.lsp.enable then
  vim.lsp.enable('ohmline')
end

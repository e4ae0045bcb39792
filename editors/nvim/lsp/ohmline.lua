-- Neovim 0.11 and later. Change it with `vim.lsp.config('ohmline', { ... })`.
local defaults = require('ohmline').defaults

return {
  cmd = defaults.cmd,
  filetypes = { 'ohmline' },
  root_markers = { 'ohmline.toml', '.git' },
  settings = defaults.settings,
}

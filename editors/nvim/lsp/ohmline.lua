-- Neovim 0.11 and later. Change it with `vim.lsp.config('ohmline', { ... })`.
local defaults = require('ohmline').defaults

return {
  cmd = defaults.cmd,
  -- A file of settings is attached by ftplugin/toml_ohmline.lua, and Markdown with circuits by ftplugin/markdown_ohmline.lua.
  filetypes = { 'ohmline' },
  root_markers = { 'ohmline.toml', '.git' },
  settings = defaults.settings,
}

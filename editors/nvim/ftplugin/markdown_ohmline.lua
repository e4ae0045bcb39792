-- Circuits in Markdown: blocks between fences marked `ohmline`.
local ohmline = require('ohmline')

if not vim.g.ohmline_markdown_off then
  ohmline.start_in_markdown(vim.api.nvim_get_current_buf())
end

-- The Ohmline language server in Neovim 0.7 to 0.10, which do not start servers by themselves.
local M = {}

M.defaults = {
  -- The command of the server, as a list.
  cmd = { 'ohmline', 'serve' },
  settings = {
    ohmline = {
      hints = {
        -- Solved values at declarations (shown by Neovim 0.10 and later).
        enabled = true,
        -- Along paths too.
        paths = false,
      },
    },
  },
}

local config = vim.deepcopy(M.defaults)

-- One server for each folder of files.
local clients = {}

-- Takes over settings; call it before a file is opened.
function M.setup(options)
  config = vim.tbl_deep_extend('force', config, options or {})
end

-- The folder of the nearest `ohmline.toml`, else of the file.
local function root(bufnr)
  local name = vim.api.nvim_buf_get_name(bufnr)
  local folder = name == '' and vim.fn.getcwd() or vim.fn.fnamemodify(name, ':p:h')
  local marker = vim.fn.findfile('ohmline.toml', vim.fn.escape(folder, ' ,;') .. ';')
  return marker == '' and folder or vim.fn.fnamemodify(marker, ':p:h')
end

local function keys(bufnr)
  -- So do they set what `<C-x><C-o>` and `<C-]>` ask.
  if vim.fn.has('nvim-0.8') == 0 then
    vim.api.nvim_buf_set_option(bufnr, 'omnifunc', 'v:lua.vim.lsp.omnifunc')
    vim.api.nvim_buf_set_option(bufnr, 'tagfunc', 'v:lua.vim.lsp.tagfunc')
  end
  -- Later versions have this key of their own.
  if vim.fn.has('nvim-0.10') == 0 then
    vim.api.nvim_buf_set_keymap(bufnr, 'n', 'K', '<Cmd>lua vim.lsp.buf.hover()<CR>', { noremap = true, silent = true })
  end
end

-- Applies every safe fix in a buffer, and waits for that: to be called before it is written.
function M.fix_all(bufnr, limit)
  bufnr = bufnr or vim.api.nvim_get_current_buf()
  local last = vim.api.nvim_buf_line_count(bufnr)
  local params = {
    textDocument = vim.lsp.util.make_text_document_params(bufnr),
    range = { start = { line = 0, character = 0 }, ['end'] = { line = last, character = 0 } },
    context = { diagnostics = {}, only = { 'source.fixAll.ohmline' } },
  }
  local answers = vim.lsp.buf_request_sync(bufnr, 'textDocument/codeAction', params, limit or 2000) or {}
  for id, answer in pairs(answers) do
    local client = vim.lsp.get_client_by_id(id)
    for _, action in ipairs(answer.result or {}) do
      -- Later versions ask for the edit of an action once it is chosen.
      if not action.edit and client then
        local resolved = client.request_sync('codeAction/resolve', action, limit or 2000, bufnr)
        action = resolved and resolved.result or action
      end
      if action.edit then
        vim.lsp.util.apply_workspace_edit(action.edit, client and client.offset_encoding or 'utf-16')
      end
    end
  end
end

-- Whether a Markdown buffer holds a circuit: a fence marked `ohmline`, also in quotes and lists.
function M.holds_circuits(bufnr)
  for _, line in ipairs(vim.api.nvim_buf_get_lines(bufnr, 0, -1, false)) do
    local fence, word = line:match('^[%s>*+%-%d.)]*(```+)%s*(%a+)')
    if not fence then
      fence, word = line:match('^[%s>*+%-%d.)]*(~~~+)%s*(%a+)')
    end
    if fence and word:lower() == 'ohmline' then
      return true
    end
  end
  return false
end

-- Attaches a Markdown buffer once it holds a circuit; most hold none.
function M.start_in_markdown(bufnr)
  if M.holds_circuits(bufnr) then
    M.start(bufnr)
    return
  end
  vim.cmd(('autocmd InsertLeave,BufWritePost <buffer=%d> ++once lua require("ohmline").start_in_markdown(%d)'):format(bufnr, bufnr))
end

-- Attaches a buffer to the server of its folder, and starts that if need be. Gives the number of the client.
function M.start(bufnr)
  if vim.lsp.enable then
    -- From 0.11 on: what is described in lsp/ohmline.lua, and changed there by the user.
    return vim.lsp.start(vim.tbl_extend('keep', vim.lsp.config.ohmline, { root_dir = root(bufnr) }), { bufnr = bufnr })
  end
  local folder = root(bufnr)
  local id = clients[folder]
  if not id or not vim.lsp.get_client_by_id(id) then
    if vim.fn.executable(config.cmd[1]) == 0 then
      vim.notify('Ohmline: `' .. config.cmd[1] .. '` is not on the path; the language server is not started',
        vim.log.levels.WARN)
      return nil
    end
    id = vim.lsp.start_client({
      name = 'ohmline',
      cmd = config.cmd,
      root_dir = folder,
      settings = config.settings,
      init_options = config.settings,
      on_attach = function(_, attached)
        keys(attached)
      end,
      on_exit = function()
        clients[folder] = nil
      end,
    })
    clients[folder] = id
  end
  if id then
    vim.lsp.buf_attach_client(bufnr, id)
  end
  return id
end

return M

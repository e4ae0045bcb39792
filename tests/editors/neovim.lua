-- Opens a sample in the real editor, and fails (with a status of 1) unless diagnostics, hover and edits work.
--
--   OHMLINE=target/debug/ohmline nvim --clean --headless --cmd 'set runtimepath^=editors/nvim' \
--     -c 'luafile tests/editors/neovim.lua' -c 'qa!'

local LIMIT = 30000

local function say(text)
  io.stdout:write(text .. '\n')
end

local function check(holds, what)
  if not holds then
    error('failed: ' .. what)
  end
  say('ok: ' .. what)
end

-- What is wrong; hints, such as that a claim holds, are left out.
local function diagnostics()
  return vim.diagnostic.get(0, { severity = { min = vim.diagnostic.severity.INFO } })
end

local function about(code)
  for _, found in ipairs(diagnostics()) do
    if (found.code or (found.user_data and found.user_data.lsp and found.user_data.lsp.code)) == code then
      return found
    end
  end
end

local function run()
  local server = assert(os.getenv('OHMLINE'), 'OHMLINE names the command to test')
  require('ohmline').setup({ cmd = { server, 'serve' } })

  local folder = vim.fn.tempname()
  vim.fn.mkdir(folder, 'p')
  local file = folder .. '/pier.ohmline'
  vim.fn.writefile({
    '## Pier lamps of the model harbour: Ω and 🔋 count as editors count them.',
    'circuit "Pier lamps 🚢"',
    'battery  B1 = 4.5 V',
    'resistor R1 = 9 Ω',
    'resistor R2 = 10 Ω',
    'resistor R3 = 15 Ω',
    'B1+ -- R1 -- @fork -- R2 -- @join -- B1-',
    '@fork -- R3 -- @join',
    'claim R1, R2 in series',
  }, file)
  vim.cmd('edit ' .. vim.fn.fnameescape(file))
  check(vim.bo.filetype == 'ohmline', 'the file type is known though the file begins with a comment')

  check(vim.wait(LIMIT, function() return about('split-series') ~= nil end, 10), 'a diagnostic arrives')
  local found = about('split-series')
  say('   line ' .. (found.lnum + 1) .. ': ' .. found.message:gsub('\n.*', ''))
  check(found.severity == vim.diagnostic.severity.ERROR, 'a wrong claim is an error')

  local params = vim.lsp.util.make_position_params
  vim.api.nvim_win_set_cursor(0, { 4, 9 })
  local answers = vim.lsp.buf_request_sync(0, 'textDocument/hover', params(), LIMIT)
  local text
  for _, answer in pairs(answers or {}) do
    text = answer.result and answer.result.contents.value
  end
  check(text ~= nil and text:find('300 mA', 1, true) ~= nil, 'hover shows the current through R1')
  say('   ' .. text:gsub('\n', '\n   '))

  vim.lsp.buf.hover()
  check(vim.wait(LIMIT, function()
    for _, window in ipairs(vim.api.nvim_list_wins()) do
      if vim.api.nvim_win_get_config(window).relative ~= '' then
        return true
      end
    end
  end, 10), 'the hover window opens')

  -- Behind characters that take two columns in UTF-16.
  vim.api.nvim_buf_set_text(0, 1, 24, 1, 24, { ' 🔋Ω' })
  vim.api.nvim_buf_set_lines(0, 8, 9, false, { 'claim R2, R3 in parallel' })
  check(vim.wait(LIMIT, function() return #diagnostics() == 0 end, 10), 'a mended claim clears its diagnostic')

  vim.api.nvim_buf_set_lines(0, 8, 9, false, { 'claim R2, R3 in parallel', 'B1+ -- R9 -- B1-' })
  check(vim.wait(LIMIT, function() return #diagnostics() > 0 end, 10), 'a new mistake is found')
  check(diagnostics()[1].lnum == 9, 'in the line where it was made')

  for _, client in ipairs(vim.lsp.get_active_clients()) do
    client.stop()
  end
  check(vim.wait(LIMIT, function() return #vim.lsp.get_active_clients() == 0 end, 10), 'the server ends when asked')
end

local ok, problem = pcall(run)
if not ok then
  say(tostring(problem))
  for _, found in ipairs(diagnostics()) do
    say('   shown: line ' .. (found.lnum + 1) .. ': ' .. found.message)
  end
  vim.cmd('cquit 1')
end

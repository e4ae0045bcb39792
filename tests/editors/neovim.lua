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

-- The color group of the first place where a word stands, by patterns.
local function group(word)
  local place = vim.fn.searchpos('\\V' .. word, 'cnw')
  return vim.fn.synIDattr(vim.fn.synID(place[1], place[2], 1), 'name')
end

local function colors()
  check(group('battery') == 'ohmlineKind', 'a kind is colored')
  check(group('circuit') == 'ohmlineStatement', 'a statement word is colored')
  check(group('9 Ω') == 'ohmlineNumber', 'a number is colored')
  check(group('@fork') == 'ohmlineJunction', 'a junction is colored')
  check(group('series') == 'ohmlineConnective', 'a connective is colored')
  check(group('model') == 'ohmlineDoc', 'documentation is colored')
end

-- The tree-sitter grammar and its queries, where the test has compiled it.
local function grammar()
  local runtime = os.getenv('OHMLINE_RUNTIME')
  if not runtime then
    say('skipped: the tree-sitter grammar, which is compiled by the Rust test')
    return
  end
  vim.opt.runtimepath:append(runtime)
  local parser = vim.treesitter.get_parser(0, 'ohmline')
  local tree = parser:parse()[1]
  check(not tree:root():has_error(), 'tree-sitter reads the sample')
  local parse = vim.treesitter.query and vim.treesitter.query.parse or vim.treesitter.parse_query
  for _, name in ipairs({ 'highlights', 'folds', 'indents', 'locals', 'injections' }) do
    local path = vim.api.nvim_get_runtime_file('queries/ohmline/' .. name .. '.scm', false)[1]
    local query = parse('ohmline', table.concat(vim.fn.readfile(path), '\n'))
    if name == 'highlights' then
      local seen = {}
      for id, node in query:iter_captures(tree:root(), 0, 0, -1) do
        local line, from, _, to = node:range()
        local word = vim.api.nvim_buf_get_lines(0, line, line + 1, false)[1]:sub(from + 1, to)
        seen[word] = query.captures[id]
      end
      check(seen['battery'] == 'type.builtin' and seen['@fork'] == 'label' and seen['claim'] == 'keyword',
        'the highlights query names what it finds')
    end
  end
end

local function ask(method, params)
  for _, answer in pairs(vim.lsp.buf_request_sync(0, method, params, LIMIT) or {}) do
    if answer.result then
      return answer.result
    end
  end
end

local function line(number)
  return vim.api.nvim_buf_get_lines(0, number - 1, number, false)[1]
end

local function encoding()
  return vim.lsp.get_active_clients()[1].offset_encoding
end

-- A quick fix, taken as the editor takes it.
local function fix()
  vim.api.nvim_buf_set_lines(0, 6, 7, false, { 'B1+ -- R1 -- @fork -- R2 -- @join --- B1-' })
  check(vim.wait(LIMIT, function() return about('long-wire') ~= nil end, 10), 'a long wire is reported')
  vim.api.nvim_win_set_cursor(0, { 7, 35 })
  local params = vim.lsp.util.make_range_params()
  params.context = { diagnostics = vim.lsp.diagnostic.get_line_diagnostics() }
  for _, action in ipairs(ask('textDocument/codeAction', params) or {}) do
    if action.title:find('Write `--`', 1, true) then
      vim.lsp.util.apply_workspace_edit(action.edit, encoding())
    end
  end
  check(line(7) == 'B1+ -- R1 -- @fork -- R2 -- @join -- B1-', 'a quick fix is applied')
end

local function complete()
  vim.api.nvim_buf_set_lines(0, 9, -1, false, { 'claim R2, R3 in par' })
  vim.api.nvim_win_set_cursor(0, { 10, 18 })
  local params = vim.lsp.util.make_position_params()
  params.position.character = 19
  local result = ask('textDocument/completion', params)
  local found
  for _, item in ipairs(result and (result.items or result) or {}) do
    if item.label:find('^parallel') then
      found = item
    end
  end
  check(found ~= nil, '`parallel` is offered')
  local matches = vim.lsp.util.text_document_completion_list_to_complete_items(result, 'par')
  check(#matches > 0 and matches[1].word:find('^parallel') ~= nil, 'and is what the editor would insert')
  vim.api.nvim_buf_set_lines(0, 9, -1, false, {})
end

local function rename()
  vim.api.nvim_win_set_cursor(0, { 6, 9 })
  local params = vim.lsp.util.make_position_params()
  params.newName = 'Lantern'
  vim.lsp.util.apply_workspace_edit(ask('textDocument/rename', params), encoding())
  check(line(8) == '@fork -- Lantern -- @join', 'a rename reaches the path')
end

local function format()
  vim.api.nvim_buf_set_lines(0, 9, -1, false, { 'resistor   R9=3ohm', 'B1+--R9--B1-' })
  local edits = ask('textDocument/formatting', vim.lsp.util.make_formatting_params({}))
  vim.lsp.util.apply_text_edits(edits or {}, vim.api.nvim_get_current_buf(), encoding())
  local text = table.concat(vim.api.nvim_buf_get_lines(0, 0, -1, false), '\n')
  check(text:find('resistor R9 *= 3 ohm') ~= nil and text:find('B1+ -- R9 -- B1-', 1, true) ~= nil,
    'formatting writes the canonical spelling')
end

-- A part that a file uses which is not open is renamed there too.
local function rename_elsewhere(folder)
  vim.fn.writefile({ 'include "kit.ohmline"', 'battery B1 = 3 V', 'lantern West', 'B1+ -- @West.in', '@West.out -- B1-' },
    folder .. '/quay.ohmline')
  vim.fn.writefile({ 'part lantern(in, out)', '  lamp L = 6 ohm', '  @in -- L -- @out', 'end' }, folder .. '/kit.ohmline')
  vim.cmd('edit ' .. vim.fn.fnameescape(folder .. '/kit.ohmline'))
  check(vim.wait(LIMIT, function() return next(vim.lsp.buf_get_clients(0)) ~= nil end, 10), 'the kit has the server')
  vim.api.nvim_win_set_cursor(0, { 1, 6 })
  local params = vim.lsp.util.make_position_params()
  params.newName = 'lampion'
  vim.lsp.util.apply_workspace_edit(ask('textDocument/rename', params), encoding())
  check(line(1) == 'part lampion(in, out)', 'a part is renamed')
  local other = vim.fn.bufnr(folder .. '/quay.ohmline')
  check(other ~= -1 and vim.api.nvim_buf_get_lines(other, 2, 3, false)[1] == 'lampion West',
    'and in a file that was not open')
  vim.cmd('bdelete! ' .. other)
  vim.cmd('bdelete!')
end

-- Every safe fix, as a file is written.
local function fix_on_save(folder)
  vim.cmd([[autocmd BufWritePre *.ohmline lua require('ohmline').fix_all(nil, 30000)]])
  vim.cmd('edit ' .. vim.fn.fnameescape(folder .. '/winch.ohmline'))
  vim.api.nvim_buf_set_lines(0, 0, -1, false, { 'battery B1 = 4,5 V', 'resistor R1 = 9 ohm', 'B1+ --- R1 -- B1-' })
  check(vim.wait(LIMIT, function() return about('decimal-comma') ~= nil and about('long-wire') ~= nil end, 10), 'two slips are found')
  vim.cmd('silent write')
  check(line(1) == 'battery B1 = 4.5 V' and line(3) == 'B1+ -- R1 -- B1-', 'saving mends both')
  check(vim.fn.readfile(folder .. '/winch.ohmline')[1] == 'battery B1 = 4.5 V', 'in the file too')
  vim.cmd('autocmd! BufWritePre *.ohmline')
  vim.cmd('bdelete!')
end

-- The settings of circuits, open and closed.
local function settings(folder)
  local file = folder .. '/ohmline.toml'
  vim.cmd('edit ' .. vim.fn.fnameescape(folder .. '/winch.ohmline'))
  vim.api.nvim_buf_set_lines(0, 0, -1, false, { 'battery B1 = 6 V', 'resistor R1 = 9 ohm', 'lamp L1 = 3 ohm', 'B1+ -- R1 -- B1-' })
  check(vim.wait(LIMIT, function() return about('never-placed') ~= nil end, 10), 'a lamp that is never placed is found')
  vim.fn.writefile({ '[levels]', 'never-placed = "off"' }, file)
  check(vim.wait(LIMIT, function() return about('never-placed') == nil end, 10), 'settings written outside of the editor count')
  local circuit = vim.api.nvim_get_current_buf()
  vim.cmd('edit ' .. vim.fn.fnameescape(file))
  check(vim.wait(LIMIT, function() return next(vim.lsp.buf_get_clients(0)) ~= nil end, 10), 'an ohmline.toml has the server')
  vim.api.nvim_buf_set_lines(0, 0, -1, false, { '[levels]', 'never-plced = "off"' })
  check(vim.wait(LIMIT, function() return about('unknown-setting') ~= nil end, 10), 'what is wrong in it is shown')
  vim.api.nvim_win_set_cursor(0, { 2, 4 })
  local items = ask('textDocument/completion', vim.lsp.util.make_position_params())
  local offered = false
  for _, item in ipairs(items and (items.items or items) or {}) do
    offered = offered or item.label == 'never-placed'
  end
  check(offered, 'rules are offered in it')
  vim.cmd('bdelete!')
  vim.api.nvim_set_current_buf(circuit)
  vim.fn.delete(file)
  check(vim.wait(LIMIT, function() return about('never-placed') ~= nil end, 10), 'without it everything is as before')
  vim.cmd('bdelete!')
end

-- A circuit between fences, in a buffer of its own. The server comes once there is one.
local function markdown(folder)
  local file = folder .. '/notes.md'
  vim.fn.writefile({ '# Notes 🚢', '', 'Nothing yet.' }, file)
  vim.cmd('edit ' .. vim.fn.fnameescape(file))
  check(vim.bo.filetype == 'markdown', 'Markdown is Markdown')
  check(next(vim.lsp.buf_get_clients(0)) == nil, 'a Markdown buffer without a circuit has no server')
  vim.api.nvim_buf_set_lines(0, 2, -1, false, {
    '> ```ohmline',
    '> battery B1 = 4.5 V',
    '> resistor R1 = 9 Ω',
    '> B1+ -- R1 -- B1-',
    '> claim B1, R1 in parallel',
    '> claim current through R1 = 1 A',
    '> ```',
  })
  vim.cmd('silent write')
  check(vim.wait(LIMIT, function() return next(vim.lsp.buf_get_clients(0)) ~= nil end, 10), 'the server comes with the first circuit')
  check(vim.wait(LIMIT, function() return #diagnostics() > 0 and diagnostics()[1].lnum == 7 end, 10),
    'a wrong claim between fences is found')
  vim.api.nvim_win_set_cursor(0, { 5, 11 })
  local answer = ask('textDocument/hover', vim.lsp.util.make_position_params())
  check(answer ~= nil and answer.contents.value:find('500 mA', 1, true) ~= nil, 'hover between fences shows solved values')
  vim.api.nvim_buf_set_lines(0, 8, 8, false, { '> find current thr' })
  vim.api.nvim_win_set_cursor(0, { 9, 17 })
  local params = vim.lsp.util.make_position_params()
  params.position.character = 18
  local result = ask('textDocument/completion', params)
  local offered = false
  for _, item in ipairs(result and (result.items or result) or {}) do
    offered = offered or item.label:find('^through') ~= nil
  end
  check(offered, 'words are completed between fences')
  vim.cmd('bdelete!')
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
  colors()
  grammar()

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

  check(vim.bo.omnifunc == 'v:lua.vim.lsp.omnifunc', '<C-x><C-o> asks the server')
  vim.api.nvim_win_set_cursor(0, { 7, 8 })
  vim.cmd('tag ' .. vim.fn.expand('<cword>'))
  check(vim.api.nvim_win_get_cursor(0)[1] == 4, 'and <C-]> goes to the declaration')
  fix()
  complete()
  rename()
  format()
  vim.api.nvim_buf_set_lines(0, 0, -1, false, vim.fn.readfile(file))
  check(vim.wait(LIMIT, function() return about('split-series') ~= nil end, 10), 'the text as it was has its diagnostic again')

  -- Behind characters that take two columns in UTF-16.
  vim.api.nvim_buf_set_text(0, 1, 24, 1, 24, { ' 🔋Ω' })
  vim.api.nvim_buf_set_lines(0, 8, 9, false, { 'claim R2, R3 in parallel' })
  check(vim.wait(LIMIT, function() return #diagnostics() == 0 end, 10), 'a mended claim clears its diagnostic')

  vim.api.nvim_buf_set_lines(0, 8, 9, false, { 'claim R2, R3 in parallel', 'B1+ -- R9 -- B1-' })
  check(vim.wait(LIMIT, function() return #diagnostics() > 0 end, 10), 'a new mistake is found')
  check(diagnostics()[1].lnum == 9, 'in the line where it was made')

  markdown(folder)
  rename_elsewhere(folder)
  fix_on_save(folder)
  settings(folder)
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

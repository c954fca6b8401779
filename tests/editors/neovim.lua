-- A fitter's file in a real editor without a screen: findings, completion, hover, formatting. Started by `.ci/editors` in
-- a copy of the boatyard; prints what it saw, and ends with 1 where something is not as it must be.
local file = "mast-router/2026-10-26-fitter-3.kdl"

local function fail(what)
  io.stderr:write("neovim: " .. what .. "\n")
  os.exit(1)
end

local function wanted(condition, what)
  if not condition then fail(what) end
  print("neovim: " .. what)
end

vim.cmd("edit " .. file)
local client = vim.lsp.start_client({
  name = "wayledger",
  cmd = { "wayledger", "language-server", "--today", "2026-11-01" },
  root_dir = vim.fn.getcwd(),
})
vim.lsp.buf_attach_client(0, client)
local function is_ready() return next(vim.lsp.buf_get_clients(0)) ~= nil and vim.lsp.get_client_by_id(client).initialized end
if not vim.wait(10000, is_ready, 20) then fail("the server does not greet") end

local function ask(method, params)
  local answers, why = vim.lsp.buf_request_sync(0, method, params, 10000)
  local answer = answers and answers[client]
  if not answer or answer.error then fail(method .. ": " .. (why or vim.inspect(answer))) end
  return answer.result
end

local function place(line, character)
  return { textDocument = { uri = vim.uri_from_bufnr(0) }, position = { line = line, character = character } }
end

local function line_of(pattern)
  for number, line in ipairs(vim.api.nvim_buf_get_lines(0, 0, -1, true)) do
    local from = line:find(pattern)
    if from then return number - 1, from - 1 end
  end
  fail("no line with " .. pattern)
end

-- Findings: what is mistyped here is told here, while nothing is saved.
local row, column = line_of("10.4 10.5")
vim.api.nvim_buf_set_text(0, row, column, row, column + 4, { "14.4" })
local function is_told()
  for _, finding in ipairs(vim.diagnostic.get(0)) do
    if finding.lnum == row and finding.message:find("14.4", 1, true) then return true end
  end
  return false
end
wanted(vim.wait(10000, is_told, 20), "a torque over its window is told where it stands")
vim.api.nvim_buf_set_text(0, row, column, row, column + 4, { "10.4" })
wanted(vim.wait(10000, function() return not is_told() end, 20), "and no longer once it is put right")

-- Hover over a wrench.
local at, on = line_of("TW%-2")
local hover = ask("textDocument/hover", place(at, on + 1))
wanted(hover and vim.inspect(hover.contents):find("TW-2", 1, true), "the wrench says what it is")

-- Completion of a support that is outstanding.
vim.api.nvim_buf_set_lines(0, row + 1, row + 1, true, { "    at " })
local completion = ask("textDocument/completion", place(row + 1, 7))
local first = (completion.items or completion)[1]
wanted(first and (first.detail or ""):find("outstanding"), "what is outstanding is offered first: " .. vim.inspect(first and first.label))

-- Formatting.
vim.api.nvim_buf_set_lines(0, row + 1, row + 2, true, { "         at S3   10.4  10.5 #null #null" })
local options = { tabSize = 4, insertSpaces = true }
local edits = ask("textDocument/formatting", { textDocument = { uri = vim.uri_from_bufnr(0) }, options = options })
vim.lsp.util.apply_text_edits(edits, 0, vim.lsp.get_client_by_id(client).offset_encoding)
local laid_out = vim.api.nvim_buf_get_lines(0, row + 1, row + 2, true)[1]
wanted(laid_out == "    at S3 10.4 10.5 #null #null", "the row is laid out: " .. laid_out)

vim.cmd("qall!")

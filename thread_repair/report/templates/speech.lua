-- A formula in plain words, for readers who hear it: the alternative text of the PDF.
--
-- Reads the part of LaTeX that formulas of reports use. What it does not know it calls by the name
-- of the command; it never fails. A bracket is named where it stands and no product is spoken
-- beside one, because `C_1(x)` may be a factor of x as well as a product.

local speech = {}

local SIGNS = {
  ["+"] = "plus", ["-"] = "minus", ["="] = "equals", ["<"] = "is less than",
  [">"] = "is greater than", ["/"] = "divided by", ["*"] = "times", ["−"] = "minus",
  ["×"] = "times", ["·"] = "times", ["±"] = "plus or minus", ["≤"] = "is at most",
  ["≥"] = "is at least", ["≈"] = "is about", ["\\times"] = "times", ["\\cdot"] = "times",
  ["\\div"] = "divided by", ["\\pm"] = "plus or minus", ["\\mp"] = "minus or plus",
  ["\\le"] = "is at most", ["\\leq"] = "is at most", ["\\leqslant"] = "is at most",
  ["\\ge"] = "is at least", ["\\geq"] = "is at least", ["\\geqslant"] = "is at least",
  ["\\lt"] = "is less than", ["\\gt"] = "is greater than", ["\\ll"] = "is much less than",
  ["\\gg"] = "is much greater than", ["\\ne"] = "is not equal to", ["\\neq"] = "is not equal to",
  ["\\approx"] = "is about", ["\\sim"] = "is about", ["\\propto"] = "is proportional to",
  ["\\to"] = "to", ["\\rightarrow"] = "to",
}

local SYMBOLS = {
  ["\\infty"] = "infinity", ["\\circ"] = "degrees", ["\\degree"] = "degrees", ["°"] = "degrees",
  ["\\ast"] = "star", ["\\star"] = "star", ["\\prime"] = "prime", ["\\%"] = "percent",
  ["%"] = "percent", ["\\varepsilon"] = "epsilon", ["\\varphi"] = "phi", ["\\vartheta"] = "theta",
  ["\\varrho"] = "rho", ["\\varsigma"] = "sigma", ["\\ldots"] = "and so on",
  ["\\dots"] = "and so on", ["\\cdots"] = "and so on",
}
for name in ([[alpha beta gamma delta epsilon zeta eta theta iota kappa lambda mu nu xi omicron pi
  rho sigma tau upsilon phi chi psi omega Gamma Delta Theta Lambda Xi Pi Sigma Upsilon Phi Psi
  Omega ell]]):gmatch("%a+") do
  SYMBOLS["\\" .. name] = name
end
local NO_FACTOR = {degrees = true, percent = true, ["and so on"] = true}  -- nothing is multiplied

local FUNCTIONS = {
  min = "minimum", max = "maximum", sin = "sine", cos = "cosine", tan = "tangent",
  cot = "cotangent", arcsin = "arc sine", arccos = "arc cosine", arctan = "arc tangent",
  sinh = "hyperbolic sine", cosh = "hyperbolic cosine", tanh = "hyperbolic tangent",
  coth = "hyperbolic cotangent", exp = "exponential", ln = "natural logarithm", log = "logarithm",
}

local ACCENTS = {bar = "bar", overline = "bar", hat = "hat", tilde = "tilde", dot = "dot",
                 vec = "vector"}

local OPEN = {["("] = true, ["["] = true, ["\\{"] = true, ["\\lbrace"] = true, ["\\langle"] = true}
local CLOSE = {[")"] = true, ["]"] = true, ["\\}"] = true, ["\\rbrace"] = true, ["\\rangle"] = true}

local PAUSES = {[","] = true, [";"] = true, [":"] = true, ["."] = true, ["\\quad"] = true,
                ["\\qquad"] = true, ["\\\\"] = true}
local SILENT = {["\\,"] = true, ["\\;"] = true, ["\\:"] = true, ["\\!"] = true, ["\\>"] = true,
                ["\\ "] = true, ["~"] = true, ["&"] = true, ["}"] = true, ["\\displaystyle"] = true,
                ["\\textstyle"] = true, ["\\limits"] = true, ["\\nolimits"] = true,
                ["\\big"] = true, ["\\bigl"] = true, ["\\bigr"] = true, ["\\Big"] = true,
                ["\\Bigl"] = true, ["\\Bigr"] = true}

-- one and many
local UNITS = {
  mm = {"millimetre", "millimetres"}, m = {"metre", "metres"}, um = {"micrometre", "micrometres"},
  N = {"newton", "newtons"}, kN = {"kilonewton", "kilonewtons"},
  Pa = {"pascal", "pascals"}, MPa = {"megapascal", "megapascals"},
  GPa = {"gigapascal", "gigapascals"}, ["in"] = {"inch", "inches"}, ft = {"foot", "feet"},
  lbf = {"pound force", "pounds force"}, psi = {"pound per square inch", "pounds per square inch"},
  ksi = {"kilopound per square inch", "kilopounds per square inch"}, K = {"kelvin", "kelvins"},
  degC = {"degree Celsius", "degrees Celsius"}, degF = {"degree Fahrenheit", "degrees Fahrenheit"},
  s = {"second", "seconds"},
}
local POWERS = {["2"] = "square ", ["3"] = "cubic "}

-- The unit that stands in `source`, such as `N/mm^2`; nil if it is none.
local function unit(source, one)
  local said, per = {}, false
  local text = source:gsub("%^{?\\circ}?%s*([CF])", "deg%1"):gsub("°([CF])", "deg%1")
    :gsub("\\mu%s*m", "um"):gsub("\\cdot", " "):gsub("\\[,;: ]", " "):gsub("[·~]", " ")
    :gsub("/", " / "):gsub("²", "^2"):gsub("³", "^3")
  local words = {}
  for word in text:gmatch("%S+") do words[#words + 1] = word end
  for i, word in ipairs(words) do
    if word == "/" then
      per, said[#said + 1] = true, "per"
    else
      local name, power = word:match("^(%a+)%^?{?(%d?)}?$")
      if not UNITS[name] or (power ~= "" and not POWERS[power]) then return nil end
      -- "newton metres per second": only the last one before "per" is many
      local many = not (one or per) and (words[i + 1] == nil or words[i + 1] == "/")
      said[#said + 1] = (POWERS[power] or "") .. UNITS[name][many and 2 or 1]
    end
  end
  return #said > 0 and table.concat(said, " ") or nil
end

-- The words of `\text{..}`.
local function plain(source)
  if source:match("^[%s%-–—]+$") then return "no value" end
  return (source:gsub("\\(%a+)", "%1"):gsub("\\[,;:!> ]", " "):gsub("[\\{}$~_^]", " ")
    :gsub("[()%[%]]", ", "))
end

-- ---------------------------------------------------------------------------------------------
-- Items of a row: what is said, and of what kind it is: "value", "number", "function", "sign",
-- "bracket", "pause", "unit" or "words".

local function item(kind, say) return {kind = kind, say = say} end

local function is_value(it) return it.kind == "value" or it.kind == "number" end

local function said(row)
  local out = {}
  for i, it in ipairs(row) do
    local before, after = row[i - 1], row[i + 1]
    local product = before and is_value(before) and (is_value(it) or it.kind == "function")
      and not NO_FACTOR[before.say] and not NO_FACTOR[it.say]
    -- "s over D, times 2", so that the 2 is not heard below the line
    if before and before.fraction and (product or it.say == "times") then out[#out + 1] = "," end
    if product then out[#out + 1] = "times" end
    out[#out + 1] = it.say
    if it.kind == "function" and after and after.kind ~= "sign" and after.kind ~= "pause" then
      out[#out + 1] = "of"
    end
  end
  return table.concat(out, " ")
end

local function is_short(row)
  return #row == 1 and (is_value(row[1]) or row[1].kind == "function") and not row[1].long
end

-- ---------------------------------------------------------------------------------------------
-- Reading

local DEEPEST = 40  -- groups inside groups; no formula that can be listened to has as many
local source, at, in_script, depth

local function peek()
  at = source:match("^%s*()", at)
  return source:match("^\\%a+", at) or source:match("^\\[^%a\128-\255]?", at)
    or source:match("^[\0-\127\194-\244][\128-\191]*", at) or source:sub(at, at)
end

local function take()
  local token = peek()
  at = at + #token
  return token
end

-- A number whose thousands stand apart: 37\,590.
local function number()
  local digits = source:match("^%d*", at)
  at = at + #digits
  while true do
    local group = source:match("^\\,(%d%d%d)", at)
    if not group or source:match("^%d", at + 5) then break end
    digits, at = digits .. group, at + 5
  end
  local decimals = source:match("^%.%d+", at) or ""
  at = at + #decimals
  return item("number", digits .. decimals)
end

-- What stands between braces, unread.
local function braced()
  if peek() ~= "{" then return take() end
  local inside = source:match("^%b{}", at)
  if not inside then inside, source = source:sub(at) .. "}", source .. "}" end  -- never closed
  at = at + #inside
  return inside:sub(2, -2)
end

local atom, row_until

-- What a command or a script takes: a group, or one single sign.
local function argument()
  if peek() == "" then return {} end
  if peek() == "{" then
    take()
    return row_until("}")
  end
  local digit = source:match("^%d", at)
  if digit then
    at = at + 1
    return {item("number", digit)}
  end
  return {atom()}
end

local function script_of(row)
  local parts = {}
  for _, it in ipairs(row) do
    if it.kind ~= "pause" then parts[#parts + 1] = it.say end
  end
  return table.concat(parts, " ")
end

local function has_sign(row)
  for _, it in ipairs(row) do
    if it.kind == "sign" or it.long then return true end
  end
  return false
end

local RAISED = {["2"] = "squared", ["3"] = "cubed", degrees = "degrees", star = "star",
                times = "star", prime = "prime"}

local function power(row)
  local alone = #row == 1 and RAISED[row[1].say]
  if alone then return " " .. alone end
  if is_short(row) then return " to the power of " .. row[1].say end
  return " to the power of " .. said(row) .. ", end of power,"
end

-- The indices, powers and primes behind an item become part of it.
local function with_scripts(it)
  local index, raised, primes = "", "", 0
  while true do
    local mark = peek()
    if mark == "'" then
      take()
      primes = primes + 1
    elseif mark == "_" then
      take()
      in_script = in_script + 1
      local row = argument()
      in_script = in_script - 1
      index = " sub " .. script_of(row) .. (has_sign(row) and ", end of index," or "")
    elseif mark == "^" then
      take()
      local row = argument()
      local prefix = it.kind == "unit" and #row == 1 and POWERS[row[1].say]
      if prefix then it.say = prefix .. it.say else raised = power(row) end
    else
      break
    end
  end
  local prime = primes == 0 and "" or (" " .. (({"prime", "double prime"})[primes] or "triple prime"))
  it.say = it.say .. prime .. index .. raised
  if raised:match("degrees") then it.kind = "number" end
  return it
end

local function fraction()
  local top, bottom = argument(), argument()
  local it
  if is_short(top) and is_short(bottom) then
    it = item("value", said(top) .. " over " .. said(bottom))
  else
    it = item("value", ", start fraction " .. said(top) .. ", over " .. said(bottom)
                       .. ", end fraction,")
  end
  it.fraction, it.long = true, true
  return it
end

local function root()
  local degree = "square root of "
  if peek() == "[" then
    take()
    local row = row_until("]")
    degree = said(row) == "3" and "cube root of " or ("root " .. said(row) .. " of ")
  end
  local row = argument()
  local it = item("value", degree .. said(row) .. (is_short(row) and "" or ", end of root,"))
  it.long = not is_short(row)
  return it
end

local function bracket(token)
  if token == "." or token == "" then return nil end
  if OPEN[token] then return item("bracket", ", open bracket,") end
  if CLOSE[token] then return item("bracket", ", close bracket,") end
  return item("bracket", ", bar,")
end

local function command(token, before)
  local name = token:sub(2)
  if name == "frac" or name == "tfrac" or name == "dfrac" then return fraction() end
  if name == "sqrt" then return root() end
  if name == "left" or name == "right" then return bracket(take()) end
  if name == "begin" or name == "end" then
    braced()
    return nil
  end
  if name == "mathrm" or name == "text" or name == "textrm" or name == "mbox" then
    local inside = braced()
    local one = before ~= nil and before.kind == "number" and before.say == "1"
    local found = in_script == 0 and unit(inside, one)
    if found then return item("unit", found) end
    return item(name == "mathrm" and "value" or "words", plain(inside))
  end
  if name == "operatorname" then return item("function", plain(braced())) end
  if name:match("^math%l+$") then
    local row = argument()
    return #row == 1 and row[1] or item("value", said(row))
  end
  if ACCENTS[name] then return item("value", said(argument()) .. " " .. ACCENTS[name]) end
  if FUNCTIONS[name] then return item("function", FUNCTIONS[name]) end
  return item("words", name:match("^%a+$") and name or "")
end

local function next_item(before)
  local token = peek()
  local it
  if token:match("^%d") or source:match("^%.%d", at) then
    it = number()
  elseif token == "{" then
    take()
    local row = row_until("}")
    it = #row == 1 and row[1] or (#row > 1 and item("value", said(row)) or nil)
    if it and #row > 1 then it.long = true end
  else
    take()
    if SILENT[token] then return nil
    elseif SIGNS[token] then return item("sign", SIGNS[token])
    elseif PAUSES[token] then return item("pause", ",")
    elseif OPEN[token] or CLOSE[token] or token == "|" then it = bracket(token)
    elseif SYMBOLS[token] then it = item("value", SYMBOLS[token])
    elseif token:sub(1, 1) == "\\" then it = command(token, before)
    elseif token == "_" or token == "^" or token == "'" then  -- upon nothing
      at = at - 1
      it = item("words", "")
    else it = item("value", token) end
  end
  return it and with_scripts(it)
end

-- The next item; nil for what says nothing. `before` is the item before it.
function atom(before)
  depth = depth + 1
  if depth > DEEPEST then error("too deep") end
  local it = next_item(before)
  depth = depth - 1
  return it
end

function row_until(stop)
  local row = {}
  while true do
    local token = peek()
    if token == "" then break end
    if token == stop then
      take()
      break
    end
    row[#row + 1] = atom(row[#row])
  end
  return row
end

-- The formula `latex` in words.
function speech.of(latex)
  local ok, words = pcall(function()
    source, at, in_script, depth = latex, 1, 0, 0
    return said(row_until(nil))
  end)
  if not ok then words = plain(latex) end
  words = words:gsub("%s+", " "):gsub("[%s,]*,[%s,]*", ", "):gsub("^[%s,]+", ""):gsub("[%s,]+$", "")
  return words ~= "" and words or "blank"
end

return speech

-- Tables of a report in Typst and in DOCX.

local tables = {}

local ALIGN = {AlignLeft = "left", AlignRight = "right", AlignCenter = "center",
               AlignDefault = "left"}

local function list(items)
  return #items > 0 and (table.concat(items, ",\n") .. ",") or ""
end

-- The call of the template's `report-table`; `typst` turns blocks into Typst source.
function tables.typst(tbl, typst)
  local simple = pandoc.utils.to_simple_table(tbl)
  local out, aligns = {}, {}
  for i, align in ipairs(simple.aligns) do aligns[i] = ALIGN[align] end
  local function row(source)
    local cells = {}
    for i, cell in ipairs(source) do cells[i] = "[" .. typst(cell) .. "]" end
    return "(" .. table.concat(cells, ", ") .. (#cells > 0 and ",)" or ")")
  end
  for i, line in ipairs(simple.rows) do out[i] = row(line) end
  -- The words of each head one by one: the head may wrap between them.
  local words = {}
  for i, head in ipairs(simple.headers) do
    local parts, part = {}, pandoc.Inlines{}
    local function finish()
      if #part > 0 then parts[#parts + 1] = "[" .. typst{pandoc.Plain(part)} .. "]" end
      part = pandoc.Inlines{}
    end
    for _, inline in ipairs(pandoc.utils.blocks_to_inlines(head)) do
      if inline.t == "Space" or inline.t == "SoftBreak" then finish() else part:insert(inline) end
    end
    finish()
    words[i] = "(" .. table.concat(parts, ", ") .. (#parts > 0 and ",)" or ")")
  end
  return ("report-table(\nalign: (%s,),\nhead: %s,\nwords: (%s),\nrows: (%s),\n)"):format(
    table.concat(aligns, ", "), row(simple.headers), list(words), list(out))
end

-- Shares of the text width for the columns of a DOCX table, from the length of what is in them.
function tables.with_widths(tbl)
  local simple = pandoc.utils.to_simple_table(tbl)
  local count = #simple.aligns
  local room = count <= 6 and 98 or 112  -- characters in a line
  local need, least, total, narrow = {}, {}, 0, 0
  for i = 1, count do
    need[i], least[i] = 2, 2
    for word in pandoc.utils.stringify(simple.headers[i] or {}):gmatch("%S+") do
      least[i] = math.max(least[i], utf8.len(word) * 1.2)
    end
    for _, line in ipairs(simple.rows) do
      local text = pandoc.utils.stringify(line[i])
      need[i] = math.max(need[i], utf8.len(text) or 0)
      for word in text:gmatch("%S+") do least[i] = math.max(least[i], utf8.len(word) or 0) end
    end
    least[i] = least[i] + 2.8
    need[i] = math.max(need[i] + 2.8, least[i])
    total, narrow = total + need[i], narrow + least[i]
  end
  if total > room and narrow < room then  -- no word is cut, and the longer a column the more it has
    local share = (room - narrow) / (total - narrow)
    for i = 1, count do need[i] = least[i] + share * (need[i] - least[i]) end
    total = room
  end
  while total > room do  -- shorten the longest columns, evenly
    local longest = 0
    for i = 1, count do longest = math.max(longest, need[i]) end
    local cap = longest * 0.97
    total = 0
    for i = 1, count do
      need[i] = math.min(need[i], cap)
      total = total + need[i]
    end
  end
  for i = 1, count do tbl.colspecs[i][2] = need[i] / room end
  if count <= 6 then return tbl end
  local caption = tbl.caption
  tbl = tbl:walk{Plain = function(plain)
    return pandoc.Div(pandoc.Para(plain.content), {["custom-style"] = "Small Cell"})
  end}
  tbl.caption = caption
  return tbl
end

return tables

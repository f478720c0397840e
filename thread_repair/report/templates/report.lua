-- Numbers, cross references and page furniture of a report, the same in every format.
--
-- Attributes are given as lists: the order of a Lua table differs from run to run.
--
-- Reads `info.json` (words of the title block) from the working directory. All words from it
-- enter the document as plain strings, never as markup.

local info
local labels = {}    -- id -> "Figure 3", "(2)", "Section 1.2"
local headings = {}  -- id -> "1.2"
local counts = {fig = 0, tbl = 0, eq = 0}
local is = {typst = FORMAT == "typst", html = FORMAT:match("^html") ~= nil, docx = FORMAT == "docx"}
local TEXT_WIDTH_MM = 160

local function fail(text)
  error("report: " .. text, 0)
end

local function typst_string(text)
  -- A Typst string literal; only backslash and double quote mean anything inside one.
  return '"' .. text:gsub("\\", "\\\\"):gsub('"', '\\"'):gsub("[\r\n]+", " ") .. '"'
end

local function beside(name)
  return dofile(pandoc.path.join{pandoc.path.directory(PANDOC_SCRIPT_FILE), name})
end
local tables, speech = beside("tables.lua"), beside("speech.lua")

local function raw(text) return pandoc.RawBlock(FORMAT == "docx" and "openxml" or FORMAT, text) end
local function raw_inline(text)
  return pandoc.RawInline(FORMAT == "docx" and "openxml" or FORMAT, text)
end

-- ---------------------------------------------------------------------------------------------
-- Equations

local typst_math = {}  -- LaTeX of a formula -> what pandoc's writer puts between the dollars

-- Asks the writer for all formulas at once: it takes longer to start than to write.
local function write_formulas(doc)
  local all, blocks = {}, pandoc.Blocks{}
  doc:walk{Math = function(math)
    if typst_math[math.text] then return end
    all[#all + 1], typst_math[math.text] = math.text, true
    blocks:extend{raw("//<"), pandoc.Plain{pandoc.Math("InlineMath", math.text)}, raw("//>")}
  end}
  local at = 0
  for text in pandoc.write(pandoc.Pandoc(blocks), "typst"):gmatch("//<%s*(.-)%s*//>") do
    at = at + 1
    typst_math[all[at]] = text:gsub("^%$", ""):gsub("%$$", "")
  end
end

local function inline_math(math)
  if is.typst then
    return raw_inline(("#math.equation(alt: %s, $%s$);"):format(
      typst_string(speech.of(math.text)), typst_math[math.text]))
  end
end

-- `$$ .. $$ {#eq:name}` or `$$ .. $$ {-}`: returns id, numbered, inlines used up after the math.
local function equation_label(inlines, at)
  local next_at = at + 1
  while inlines[next_at] and (inlines[next_at].t == "Space" or inlines[next_at].t == "SoftBreak") do
    next_at = next_at + 1
  end
  local word = inlines[next_at]
  if word and word.t == "Str" then
    local id, rest = word.text:match("^{#(eq:[%w-]+)}(.*)$")
    if id then return id, true, next_at, rest end
    rest = word.text:match("^{%-}(.*)$")
    if rest then return "", false, next_at, rest end
  end
  return "", true, at, ""
end

-- Lines one below the other and units as words: one word processor prints a mark for every tab stop
-- of an equation and for an equals sign that nothing stands before, and slants what is not a word.
local function for_docx(text)
  -- what begins with words stands at the left
  text = text:gsub("\\begin{aligned}", "\\begin{array}{l}\\text{\u{200b}}"):gsub("\\end{aligned}", "\\end{array}")
  text = text:gsub("(\\\\%s*)&", "%1\\text{\u{2002}}"):gsub("&", "")
  return (text:gsub("\\mathrm{(%a+)\\cdot (%a+)}", "\\text{%1·%2}")
              :gsub("\\mathrm{(%a+)%^(%d)}", "\\text{%1}^{%2}"):gsub("\\mathrm{(%a+)}", "\\text{%1}"))
end

local function display_equation(math, id, number)
  if is.typst then
    local numbering = number and ("_ => [(" .. number .. ")]") or "none"
    local label = id ~= "" and (" <" .. id .. ">") or ""
    return raw(("#math.equation(block: true, numbering: %s, alt: %s, $ %s $)%s"):format(
      numbering, typst_string(speech.of(math.text)), typst_math[math.text], label))
  elseif is.docx then
    local tab = raw_inline("<w:r><w:tab/></w:r>")
    local line = pandoc.Inlines{tab, pandoc.Math("InlineMath", "\\displaystyle " .. for_docx(math.text))}
    if number then line:extend{tab, pandoc.Str("(" .. number .. ")")} end
    local paragraph = pandoc.Div(pandoc.Para(line), {["custom-style"] = "Equation"})
    if id ~= "" then paragraph.content[1].content:insert(1, pandoc.Span({}, {id = id})) end
    return paragraph
  end
  local line = pandoc.Inlines{math}
  if number then line:insert(pandoc.Span("(" .. number .. ")", {class = "number"})) end
  return pandoc.Div(pandoc.Plain(line), {id = id, class = "equation"})
end

-- Whether a paragraph is the head of what follows: bold words alone, or words up to a colon.
local function is_head(para)
  local last = para.content[#para.content]
  return para.t == "Para" and (#para.content == 1 and last.t == "Strong"
    or last.t == "Str" and last.text:match(":$") ~= nil)
end

-- Splits a paragraph at its display equations.
local function paragraph_with_equations(para)
  if is_head(para) and is.typst then
    return {raw("#block(sticky: true, spacing: 0.95em)["), para, raw("]")}
  elseif is_head(para) and is.docx then
    return pandoc.Div(para, {["custom-style"] = "Head"}), false
  end
  local has = false
  for _, inline in ipairs(para.content) do
    has = has or (inline.t == "Math" and inline.mathtype == "DisplayMath")
  end
  if not has then return nil end
  local blocks, line, at = pandoc.Blocks{}, pandoc.Inlines{}, 1
  local function flush()
    while line[1] and (line[1].t == "Space" or line[1].t == "SoftBreak") do line:remove(1) end
    while line[#line] and (line[#line].t == "Space" or line[#line].t == "SoftBreak") do
      line:remove(#line)
    end
    if #line > 0 then blocks:insert(pandoc.Para(line)) end
    line = pandoc.Inlines{}
  end
  while at <= #para.content do
    local inline = para.content[at]
    if inline.t == "Math" and inline.mathtype == "DisplayMath" then
      flush()
      local id, numbered, last, rest = equation_label(para.content, at)
      local number
      if numbered then
        counts.eq = counts.eq + 1
        number = tostring(counts.eq)
      end
      if id ~= "" then
        if labels[id] then fail("label " .. id .. " is used twice") end
        labels[id] = "(" .. number .. ")"
      end
      blocks:insert(pandoc.Div(pandoc.Plain{inline}, {id = id, class = "equation-", n = number}))
      if rest ~= "" then line:insert(pandoc.Str(rest)) end
      at = last
    else
      line:insert(inline)
    end
    at = at + 1
  end
  flush()
  return blocks, false
end

-- ---------------------------------------------------------------------------------------------
-- First pass: split equations, count, collect labels

local function numbered(kind, word, block)
  counts[kind] = counts[kind] + 1
  local id = block.identifier
  local number = tostring(counts[kind])
  block.attributes.n = number
  if id ~= "" then
    if labels[id] then fail("label " .. id .. " is used twice") end
    labels[id] = word .. " " .. number
  end
  return block
end

local collect = {
  traverse = "topdown",
  Para = paragraph_with_equations,
  Plain = paragraph_with_equations,
  Figure = function(figure)
    local image
    figure.content:walk{Image = function(found) image = found end}
    if figure.identifier == "" and image then
      figure.identifier = image.identifier
    end
    if image then image.identifier = "" end
    return numbered("fig", "Figure", figure), false
  end,
  Table = function(tbl)
    if #tbl.caption.long > 0 then return numbered("tbl", "Table", tbl), false end
  end,
}

-- The first heading of level 1 is the notebook's title; what is below it becomes level 1.
local function title_and_levels(doc)
  local first = doc.blocks[1]
  local kind
  if first and first.t == "Header" and first.level == 1 then
    kind = pandoc.utils.stringify(first)
    doc.blocks:remove(1)
  end
  local top = 6
  doc.blocks:walk{Header = function(h) top = math.min(top, h.level) end}
  doc.blocks = doc.blocks:walk{Header = function(h)
    h.level = h.level - top + 1
    return h
  end}
  return doc, kind
end

local function number_headings(doc)
  local at, before = {0, 0, 0, 0, 0, 0}, 0
  doc.blocks:walk{Header = function(h)
    if h.level > before + 1 then  -- a reader that navigates by headings would be lost
      fail("the heading '" .. pandoc.utils.stringify(h) .. "' skips a level")
    end
    before = h.level
    if h.classes:includes("unnumbered") then return end
    at[h.level] = at[h.level] + 1
    for deeper = h.level + 1, 6 do at[deeper] = 0 end
    local number = table.concat(at, ".", 1, h.level)
    headings[h.identifier] = number
    labels["sec:" .. h.identifier:gsub("^sec:", "")] = "Section " .. number
  end}
end

-- ---------------------------------------------------------------------------------------------
-- Second pass: write

local function target_id(id)
  return headings[id:gsub("^sec:", "")] and id:gsub("^sec:", "") or id
end

local function cross_reference(cite)
  local out = pandoc.Inlines{}
  for i, citation in ipairs(cite.citations) do
    local id, text = citation.id, labels[citation.id]
    -- `[-@eq:load]` in a table: the number alone, a dash where the report has no such equation.
    local bare = citation.mode == "SuppressAuthor"
    if bare and not text then return pandoc.Str("–") end
    local rest = ""
    if not text then  -- `@fig:load.` and `@eq:a:` take their stop into the name
      local shorter = id:match("^(.-)[%.:%-]+$")
      if shorter and labels[shorter] then
        rest, id, text = id:sub(#shorter + 1), shorter, labels[shorter]
      end
    end
    if not text then
      if id:match("^fig:") or id:match("^tbl:") or id:match("^eq:") or id:match("^sec:") then
        fail("the reference @" .. id .. " points to nothing")
      end
      return cite.content  -- an ordinary word with an at sign
    end
    if i > 1 then out:insert(pandoc.Str(", ")) end
    text = bare and text or id:match("^eq:") and ("Equation\u{a0}" .. text) or text:gsub(" ", "\u{a0}")
    if is.typst then
      out:insert(raw_inline(("#link(label(%s))[%s];"):format(typst_string(target_id(id)), text)))
    else
      out:insert(pandoc.Link(text, "#" .. target_id(id)))
    end
    if rest ~= "" then out:insert(pandoc.Str(rest)) end
  end
  return out
end

-- A field of a word processor: what it computes, and what stands there until it does.
local function field(instruction, shown, bold)
  local run = "<w:r>" .. (bold and "<w:rPr><w:b/></w:rPr>" or "")
  return raw_inline(('%s<w:fldChar w:fldCharType="begin"/></w:r>%s<w:instrText xml:space="preserve">' ..
    ' %s </w:instrText></w:r>%s<w:fldChar w:fldCharType="separate"/></w:r>%s<w:t>%s</w:t></w:r>' ..
    '%s<w:fldChar w:fldCharType="end"/></w:r>'):format(run, run, instruction, run, run, shown, run))
end

local function bold_prefix(word, number, caption)
  local prefix = pandoc.Strong(word .. "\u{a0}" .. number .. ".")
  if is.docx then
    prefix = pandoc.Strong{pandoc.Str(word .. "\u{a0}"),
                           field("SEQ " .. word .. " \\* ARABIC", number, true), pandoc.Str(".")}
  end
  local line = pandoc.Inlines{prefix, pandoc.Space()}
  line:extend(pandoc.utils.blocks_to_inlines(caption.long))
  return line
end

local inner  -- the filter for inlines inside captions and cells

-- Words with every mark escaped, so that none of them means anything to Typst, and what is Typst
-- already: asking the writer for every cell of every table takes longer than all the rest. Nil if
-- there is more.
local function plain_words(inlines)
  local parts = {}
  for i, inline in ipairs(inlines) do
    local kind = inline.t
    if kind == "Str" then parts[i] = inline.text:gsub("%p", "\\%0")
    elseif kind == "Space" then parts[i] = " "
    elseif kind == "RawInline" then parts[i] = inline.text
    elseif kind == "Strong" then
      local words = plain_words(inline.content)
      if not words then return nil end
      parts[i] = "#strong[" .. words .. "]"
    else return nil end
  end
  return table.concat(parts)
end

local function plain_block(blocks)
  if #blocks ~= 1 or (blocks[1].t ~= "Plain" and blocks[1].t ~= "Para") then return nil end
  return plain_words(blocks[1].content)
end

local function typst(blocks)
  local words = plain_block(blocks)
  if words then return words end
  local done = pandoc.Blocks(blocks):walk(inner)
  return plain_block(done) or (pandoc.write(pandoc.Pandoc(done), "typst"):gsub("%s+$", ""))
end

local function check_image(image)
  if not image.src:match("^figures/figure%-%d+%.svg$") then
    fail("a picture in the text (" .. image.src ..
         ") has no caption and alternative text; display it as a ReportFigure")
  end
end

local on_one_page = false  -- while such a page is written
local function figure(block)
  local image
  block.content:walk{Image = function(found) image = found end}
  if not image then fail("a figure without a picture") end
  check_image(image)
  local number = block.attributes.n
  local caption = bold_prefix("Figure", number, block.caption)
  local width = math.min(tonumber(image.attributes.width:match("^[%d.]+")), TEXT_WIDTH_MM)
  -- pandoc moves the attribute `alt` of a figure into the picture's description
  local alt = image.attributes.alt or pandoc.utils.stringify(image.caption):gsub("\u{a0}", " ")
  if is.typst then
    local label = block.identifier ~= "" and ("<" .. block.identifier .. ">") or "none"
    if on_one_page then
      return raw(("#page-figure(width => image(%s, width: width, alt: %s), %.2fmm, [%s], %s)"):format(
        typst_string(image.src), typst_string(alt), width, typst{pandoc.Plain(caption)}, label)), false
    end
    return raw(("#report-figure(image(%s, width: %.2fmm, alt: %s), [%s], %s)"):format(
      typst_string(image.src), width, typst_string(alt), typst{pandoc.Plain(caption)}, label)), false
  end
  local picture = pandoc.Image(alt, is.docx and image.src:gsub("svg$", "png") or image.src, "",
                               pandoc.Attr("", {}, {{"width", ("%.2fmm"):format(width)}, {"alt", alt}}))
  if is.docx then
    return pandoc.Div({
      pandoc.Div(pandoc.Para{picture}, {["custom-style"] = "Captioned Figure"}),
      pandoc.Div(pandoc.Para(caption), {["custom-style"] = "Image Caption"}),
    }, {id = block.identifier}):walk(inner), false
  end
  return pandoc.Figure(pandoc.Plain{picture}, {long = pandoc.Blocks{pandoc.Plain(caption)}},
                       {id = block.identifier}):walk(inner), false
end

-- A name for a table without number, by its heads; each name once on a page.
local named = {}
local function table_name(tbl)
  local heads = {}
  for _, head in ipairs(pandoc.utils.to_simple_table(tbl).headers) do
    local text = pandoc.utils.stringify(head)
    if text ~= "" then heads[#heads + 1] = text end
  end
  local name = "Table: " .. table.concat(heads, ", ")
  named[name] = (named[name] or 0) + 1
  return named[name] == 1 and name or (name .. " (" .. named[name] .. ")")
end

local function report_table(tbl)
  local number = tbl.attributes.n
  tbl.attributes.n = nil
  if is.typst then
    local body = tables.typst(tbl, typst)
    if not number then return raw("#" .. body), false end
    local caption = typst{pandoc.Plain(bold_prefix("Table", number, tbl.caption))}
    local label = tbl.identifier ~= "" and (" <" .. tbl.identifier .. ">") or ""
    return raw(("#figure(kind: table, caption: [%s], %s)%s"):format(caption, body, label)), false
  end
  if number then
    tbl.caption = {long = pandoc.Blocks{pandoc.Plain(bold_prefix("Table", number, tbl.caption))}}
  end
  tbl = tbl:walk(inner)
  if is.docx then return tables.with_widths(tbl), false end
  -- a wide table scrolls by itself on a narrow screen, with the keyboard too
  return pandoc.Div(tbl, pandoc.Attr("", {"table"}, {
    {"tabindex", "0"}, {"role", "region"},
    {"aria-label", number and ("Table " .. number) or table_name(tbl)}})), false
end

local function page_break()
  if is.typst then return raw("#pagebreak(weak: true)") end
  if is.docx then return raw('<w:p><w:r><w:br w:type="page"/></w:r></w:p>') end
  return pandoc.Div({}, {class = "page-break"})
end

-- The contents as a list of links; Typst makes its own, with page numbers.
local function contents(blocks)
  if is.typst then return raw("#contents()") end
  local entries = pandoc.List{}
  blocks:walk{Header = function(h)
    if h.level > 2 then return end
    local line = pandoc.Inlines{}
    if headings[h.identifier] then
      line:extend{pandoc.Str(headings[h.identifier]), pandoc.Str("\u{2002}")}
    end
    line:extend(h.content:walk{Link = function(link) return link.content end,
                               Note = function() return {} end})
    local entry = pandoc.Plain{pandoc.Link(line, "#" .. h.identifier)}
    if is.docx then
      -- no leader to a number that only a word processor knows
      entry.content:extend{pandoc.Str("\u{2002}"), field("PAGEREF " .. h.identifier .. " \\h", "")}
    end
    entries:insert({h.level, entry})
  end}
  local heading = pandoc.Para{pandoc.Strong("Contents")}
  if is.docx then
    local lines = pandoc.Blocks{pandoc.Div(heading, {["custom-style"] = "TOC Heading"})}
    if #entries > 0 then  -- all entries are what one field shows; it is brought up to date on opening
      entries[1][2].content:insert(1, raw_inline(
        '<w:r><w:fldChar w:fldCharType="begin" w:dirty="true"/></w:r><w:r><w:instrText ' ..
        'xml:space="preserve"> TOC \\o "1-2" \\h \\z \\u </w:instrText></w:r>' ..
        '<w:r><w:fldChar w:fldCharType="separate"/></w:r>'))
      entries[#entries][2].content:insert(
        raw_inline('<w:r><w:fldChar w:fldCharType="end"/></w:r>'))
    end
    for _, entry in ipairs(entries) do
      lines:insert(pandoc.Div(entry[2], {["custom-style"] = "toc " .. entry[1]}))
    end
    return pandoc.Div(lines)
  end
  local list = pandoc.List{}
  for _, entry in ipairs(entries) do
    if entry[1] == 1 or #list == 0 then
      list:insert(pandoc.Blocks{entry[2]})
    else
      local last = list[#list]
      if not last[2] then last:insert(pandoc.BulletList({})) end
      local below = last[2].content
      below:insert(pandoc.Blocks{entry[2]})
      last[2] = pandoc.BulletList(below)
    end
  end
  return pandoc.Div({heading, pandoc.BulletList(list)}, pandoc.Attr(
    "", {"contents"}, {{"role", "navigation"}, {"aria-label", "Contents"}}))
end

local function sign_off(div)
  if not is.typst then
    if is.html then return nil end
    return div.content:walk{Table = function(tbl)
      for i, share in ipairs{0.2, 0.3, 0.3, 0.2} do tbl.colspecs[i][2] = share end
      return tbl
    end, Plain = function(plain)
      return pandoc.Div(pandoc.Para(plain.content), {["custom-style"] = "Signature Line"})
    end}
  end
  local body = ""
  div.content:walk{Table = function(tbl) body = tables.typst(tbl, typst) end}
  return raw("#signed(" .. body:gsub("^report%-table%(", "report-table(columns: (3fr, 5fr, 5fr, 3fr), ")
             .. ")"), false
end

-- A table to write into: two columns of words, the others with room to write.
local function fill_in(div)
  if is.html then return nil end
  if is.docx then
    return div.content:walk{Table = function(tbl)
      tbl = report_table(tbl)
      local specs = tbl.colspecs
      local words = specs[1][2] + specs[2][2]
      local count, room = #specs - 2, math.max(0.4, 1 - words)
      for i = 1, #specs do
        specs[i][2] = i <= 2 and specs[i][2] * math.min(1, 0.6 / words) or room / count
      end
      tbl.colspecs = specs
      tbl.attributes["custom-style"] = "FillIn"  -- by its id
      return tbl
    end}
  end
  local body = ""
  div.content:walk{Table = function(tbl)
    -- Long words of their own width would leave no room to write a size: they share 60 %.
    local specs, count = tables.with_widths(tbl:clone()).colspecs, #tbl.colspecs
    local share = specs[1][2] + specs[2][2]
    local all = (count - 1) / (1 / math.min(0.6, share) - 1)
    local first = all * specs[1][2] / share
    local words = ("%.2ffr, %.2ffr"):format(first, all - first)
    local columns = words .. (", 1fr"):rep(count - 3)
    body = tables.typst(tbl, typst):gsub(
      "^report%-table%(", "report-table(ruled: true, columns: (" .. columns .. ", 2fr), ")
  end}
  return raw("#filled(" .. body .. ")"), false
end

-- A number and its unit stand on one line; the template of the PDF sees to that itself.
local UNITS = {}
for unit in ("% in·lbf ft·lbf N·m kN lbf MPa ksi mm in N D P K J °C °F"):gmatch("%S+") do
  UNITS[unit] = true
end
local function with_units(inlines)
  for i = #inlines - 2, 1, -1 do
    local number, space, unit = inlines[i], inlines[i + 1].t, inlines[i + 2]
    if (space == "Space" or space == "SoftBreak") and number.t == "Str" and unit.t == "Str"
        and number.text:match("%d$") and UNITS[unit.text:match("^(.-)[²³]*[%)%].,;:]*$")] then
      if is.docx then
        inlines[i + 1] = pandoc.Str("\u{a0}")
      else  -- not on a telephone, where tables are narrow
        inlines[i] = pandoc.Span({number, pandoc.Space(), unit}, {class = "quantity"})
        inlines:remove(i + 1)
        inlines:remove(i + 1)
      end
    end
  end
  return inlines
end

inner = {Math = inline_math, Cite = cross_reference}

-- The conclusion, with a colour beside it that says nothing which its words do not say.
local COLOURS = {["supports"] = "#1b6e3c", ["supports-with-conditions"] = "#b06a00",
                 ["does-not-support"] = "#b00020"}
local function concluded(div)
  if is.typst then
    return raw(("#concluded(%s)[%s]"):format(typst_string(COLOURS[div.classes[2]]),
                                             typst(div.content)))
  end
  if is.docx then div.attributes["custom-style"] = "Conclusion " .. div.classes[2] end
  return div
end

local appendix = false
local write
-- A part on pages of its own: "one-page" as large as lets it stay one, where the format knows pages.
local function on_pages(div, name)
  on_one_page = name == "one-page"
  local blocks = div.content:walk(write)
  on_one_page = false
  if not is.typst then
    blocks:insert(1, page_break())
    return blocks
  end
  blocks:insert(1, raw("#" .. name .. "["))
  blocks:insert(raw("]"))
  return blocks
end

write = {
  traverse = "topdown",
  Math = inline_math,
  Cite = cross_reference,
  Figure = figure,
  Table = report_table,
  HorizontalRule = page_break,
  Image = function(image) check_image(image) end,
  Div = function(div)
    if div.classes:includes("equation-") then
      return display_equation(div.content[1].content[1], div.identifier, div.attributes.n), false
    elseif div.classes:includes("sign-off") then
      return sign_off(div)
    elseif div.classes:includes("fill-in") then
      return fill_in(div)
    elseif div.classes:includes("conclusion") then
      return concluded(div), false
    elseif div.classes:includes("one-page") or div.classes:includes("small") then
      return on_pages(div, div.classes[1]), false
    end
  end,
  Header = function(h)
    -- What only a checker reads is set smaller, from the first appendix on.
    if is.typst and not appendix and pandoc.utils.stringify(h):match("^Appendix") then
      appendix = true
      return {raw("#set text(9pt)\n#set par(spacing: 0.8em)"), h}, false
    end
    if is.typst and h.classes:includes("unnumbered") then
      return raw(("#heading(level: %d, numbering: none)[%s]"):format(
        h.level, typst{pandoc.Plain(h.content)})), false
    end
  end,
  Link = function(link)
    if is.typst and link.target:match("^#") then
      local id = target_id(link.target:sub(2))
      if not headings[id] and not labels[id] then
        fail("the link to " .. link.target .. " points to nothing")
      end
    end
  end,
}

-- ---------------------------------------------------------------------------------------------
-- The title block of HTML and DOCX (Typst's is in its template)

local function cell(text, strong)
  local words = pandoc.Str(text)
  return {pandoc.Plain{strong and pandoc.Strong(words) or words}}
end

local function title_block(kind, fitted)
  if is.typst then
    local page = info.layout == "letter" and "#letter[" or "#first-page["
    return pandoc.Blocks{raw(fitted and page or "#title-block")}
  end
  local rows = pandoc.List{}
  for i = 1, #info.short, 2 do
    local one, other = info.short[i], info.short[i + 1] or {"", ""}
    rows:insert{cell(one[1], true), cell(one[2]), cell(other[1], true), cell(other[2])}
  end
  local long = pandoc.List{}
  for _, pair in ipairs(info.long) do long:insert{cell(pair[1], true), cell(pair[2])} end
  local block = pandoc.Blocks{}
  if is.docx then
    if info.company ~= "" or info.logo ~= "" then
      local line = pandoc.Inlines{pandoc.Strong(pandoc.Str(info.company))}
      if info.logo ~= "" then
        local alt = "Logo" .. (info.company ~= "" and " of " .. info.company or "")
        line:extend{pandoc.Space(), pandoc.Image(alt, "logo.png", "",
          pandoc.Attr("", {}, {{"height", "13mm"}, {"alt", alt}}))}
      end
      block:insert(pandoc.Para(line))
    end
    block:insert(pandoc.Div(pandoc.Para{pandoc.Str(info.title)}, {["custom-style"] = "Title"}))
    if kind then
      block:insert(pandoc.Div(pandoc.Para{pandoc.Str(kind)}, {["custom-style"] = "Subtitle"}))
    end
    if info.status == "draft" then
      block:insert(pandoc.Div(pandoc.Para{pandoc.Str("DRAFT")}, {["custom-style"] = "Draft"}))
    end
    local function grid(widths, lines)
      if #lines == 0 then return end
      local aligns = {}
      for i = 1, #widths do aligns[i] = "AlignLeft" end
      block:insert(pandoc.utils.from_simple_table(
        pandoc.SimpleTable({}, aligns, widths, {}, lines)))
    end
    grid({0.15, 0.35, 0.15, 0.35}, rows)
    grid({0.2, 0.8}, long)
    local roles, blank = pandoc.List{}, pandoc.List{}
    for i, pair in ipairs(info.signed) do
      roles[i] = {pandoc.Plain{pandoc.Strong(pair[1]), pandoc.Space(), pandoc.Str(pair[2])}}
      blank[i] = {pandoc.Div(pandoc.Para{pandoc.Str("Signature, date")},
                             {["custom-style"] = "Signature Line"})}
    end
    if #roles > 0 then grid({1 / 3, 1 / 3, 1 / 3}, {roles, blank}) end
  end
  return block
end

function Pandoc(doc)
  local file = assert(io.open("info.json", "rb"))
  info = pandoc.json.decode(file:read("a"), false)
  file:close()
  local kind
  doc, kind = title_and_levels(doc)
  if is.typst then write_formulas(doc) else doc = doc:walk{Inlines = with_units} end
  doc = doc:walk(collect)
  number_headings(doc)

  -- What stands before [TOC] is the first page; a sheet has no contents after it.
  local is_letter = info.layout == "letter"
  local list = info.layout == "report" and contents(doc.blocks) or nil
  local first, rest = pandoc.Blocks{}, pandoc.Blocks{}
  local ended = false
  for _, block in ipairs(doc.blocks) do
    if not ended and block.t == "Para" and pandoc.utils.stringify(block) == "[TOC]" then
      ended = true
    else
      (ended and rest or first):insert(block)
    end
  end
  if not ended and not is_letter then first, rest = rest, first end
  if list then rest:insert(1, list) end
  doc.blocks = title_block(kind, ended or is_letter) .. first:walk(write)
  if is.typst and (ended or is_letter) then doc.blocks:insert(raw("]"))
  elseif ended and is.docx then doc.blocks:insert(page_break()) end
  doc.blocks:extend(rest:walk(write))

  if not is.docx then
    doc.meta.title = pandoc.MetaInlines{pandoc.Str(info.title)}
  end
  doc.meta.pagetitle = pandoc.MetaInlines{pandoc.Str(info.title)}
  if FORMAT:match("html") and info.authors[1] then  -- in a DOCX it would be a paragraph
    doc.meta.author = pandoc.MetaInlines{pandoc.Str(info.authors[1])}
  end
  doc.meta.kind = kind and pandoc.MetaInlines{pandoc.Str(kind)} or nil
  doc.meta.lang = pandoc.MetaInlines{pandoc.Str("en")}
  doc.meta.company = info.company ~= "" and pandoc.MetaInlines{pandoc.Str(info.company)} or nil
  doc.meta.logo = info.logo ~= "" and pandoc.MetaString(info.logo) or nil
  doc.meta.draft = info.status == "draft"
  local rows = pandoc.MetaList{}
  for _, some in ipairs{info.short, info.long} do
    for _, pair in ipairs(some) do
      rows:insert{name = pandoc.MetaInlines{pandoc.Str(pair[1])},
                  value = pandoc.MetaInlines{pandoc.Str(pair[2])}}
    end
  end
  doc.meta.rows = rows
  local signed = pandoc.MetaList{}
  for _, pair in ipairs(info.signed) do
    signed:insert{role = pandoc.MetaInlines{pandoc.Str(pair[1])},
                  name = pandoc.MetaInlines{pandoc.Str(pair[2])}}
  end
  doc.meta.signed = signed
  doc.meta.foot = pandoc.MetaInlines{pandoc.Str(
    info.program .. (info.inputs ~= "" and (" · " .. info.inputs) or ""))}
  return doc
end

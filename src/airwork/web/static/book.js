/* Typing a book's tables: keys and paste as in a spreadsheet, undo, every row kept at once, cells checked as they are
   typed, the book's page beside, a chart read by clicking. Without this script the form works by its buttons. */
"use strict";
(() => {
  const form = document.getElementById("filing");
  if (!form) return;
  const make = (tag, words, kind) => { const e = document.createElement(tag); if (words) e.textContent = words; if (kind) e.className = kind; return e; };
  const rowsOf = (grid) => [...grid.tBodies[0].querySelectorAll("tr[data-row]")];
  const cellsOf = (row) => [...row.querySelectorAll("td input, td select")];
  const place = (field) => { const row = field.closest("tr[data-row]"), grid = row && row.closest("table.grid"); return grid ? { grid, row: rowsOf(grid).indexOf(row), column: cellsOf(row).indexOf(field) } : null; };
  const values = () => [...form.elements].filter((e) => e.name && !["token", "part", "what", "do"].includes(e.name)).map((e) => [e.name, e.value]);

  /* --- rows --- */
  const order = (grid) => { const box = form.elements[`order:${grid.dataset.path}`]; box.value = rowsOf(grid).map((r) => r.dataset.row).join(","); };
  const addRow = (grid) => {
    const last = rowsOf(grid).at(-1), number = Math.max(Number(grid.dataset.count) - 1, ...rowsOf(grid).map((r) => Number(r.dataset.row))) + 1;
    const row = last.cloneNode(true), was = `${grid.dataset.path}/${last.dataset.row}/`;
    row.dataset.row = number;
    row.querySelector("th").textContent = rowsOf(grid).length + 1;
    cellsOf(row).forEach((c) => { c.name = c.name.replace(was, `${grid.dataset.path}/${number}/`); c.value = ""; c.removeAttribute("aria-invalid");
      c.setAttribute("aria-label", (c.getAttribute("aria-label") || "").replace(/row \d+$/, `row ${rowsOf(grid).length + 1}`)); });
    const out = row.querySelector("button"); if (out) out.value = `${grid.dataset.path}/${number}/remove`;
    grid.tBodies[0].append(row);
    order(grid);
    return row;
  };

  /* --- undo --- */
  const past = [];
  let before = new Map(values());
  const remember = () => { past.push(before); if (past.length > 200) past.shift(); before = new Map(values()); };
  const undo = () => {
    const then = past.pop();
    if (!then) return;
    for (const grid of form.querySelectorAll("table.grid")) {
      const kept = new Set((then.get(`order:${grid.dataset.path}`) || "").split(","));
      rowsOf(grid).filter((r) => !kept.has(r.dataset.row)).forEach((r) => r.remove());
      order(grid);
    }
    for (const [name, value] of then) if (form.elements[name] && form.elements[name].value !== value) form.elements[name].value = value;
    before = new Map(values());
    keep(); look();
  };

  /* --- every row kept at once, in this browser, until it is saved --- */
  const draft = `airwork draft ${form.dataset.draft}`;
  const keep = () => { try { localStorage.setItem(draft, JSON.stringify(values())); } catch { /* no room: the form still has it */ } };
  const status = make("p", "", "soft"); status.setAttribute("role", "status"); form.prepend(status);
  const take = (pairs) => {
    for (const [name, value] of pairs) if (name.startsWith("order:")) {
      const grid = form.querySelector(`table.grid[data-path="${name.slice(6)}"]`);
      while (grid && rowsOf(grid).length < value.split(",").length) addRow(grid);
    }
    for (const [name, value] of pairs) if (form.elements[name] && name !== "read" && !name.startsWith("order:")) form.elements[name].value = value;
  };
  const asShown = JSON.stringify(values());
  if (document.querySelector("p[role=status] .held")) localStorage.removeItem(draft);
  else {
    const kept = localStorage.getItem(draft);
    if (kept && kept !== asShown) {
      status.textContent = "Typed here before and not saved. ";
      const yes = make("button", "go on with it", "small"), no = make("button", "drop it", "small");
      yes.type = no.type = "button";
      yes.addEventListener("click", () => { remember(); take(JSON.parse(kept)); status.textContent = ""; look(); });
      no.addEventListener("click", () => { localStorage.removeItem(draft); status.textContent = ""; });
      status.append(yes, " ", no);
    }
  }

  /* --- cells checked as they are typed --- */
  let told = 0;
  const tell = (fields, boxes) => {  // who hears the page hears the reason with the field
    const ids = [...boxes].map((box) => (box.id = `told-${++told}`)).join(" ");
    fields.forEach((f) => f.setAttribute("aria-describedby", ids));
  };
  let waiting = 0, asked = 0;
  const look = () => { clearTimeout(waiting); waiting = setTimeout(ask, 500); };
  const ask = async () => {
    const mine = ++asked, body = new URLSearchParams(new FormData(form));
    body.set("what", "look");
    let found;
    try { const r = await fetch(form.action, { method: "POST", body, headers: { Accept: "application/json" } }); if (!r.ok) return; found = await r.json(); } catch { return; }
    if (mine !== asked) return;
    form.querySelectorAll(".saying, .one > .said, section > .said").forEach((e) => e.remove());
    form.querySelectorAll("[aria-invalid], [aria-describedby]").forEach((e) => { e.removeAttribute("aria-invalid"); e.removeAttribute("aria-describedby"); });
    for (const [name, said] of Object.entries(found.cells)) {
      const field = form.elements[name];
      if (!field) continue;
      field.setAttribute("aria-invalid", "true");
      const one = field.closest(".one");
      if (one) { said.forEach((w) => one.append(make("p", w, "said"))); tell([field], one.querySelectorAll(".said")); }
    }
    for (const [name, said] of Object.entries(found.rows)) {
      const cut = name.lastIndexOf("/"), grid = form.querySelector(`table.grid[data-path="${name.slice(0, cut)}"]`);
      const row = grid && rowsOf(grid).find((r) => r.dataset.row === name.slice(cut + 1));
      if (!row) continue;
      const below = make("tr", "", "saying"), cell = make("td");
      cell.colSpan = row.cells.length - 1;
      said.forEach((w) => cell.append(make("p", w, "said")));
      below.append(make("td"), cell);
      row.after(below);
      tell(cellsOf(row), [cell]);
    }
    const first = form.querySelector("section h2");
    for (const said of Object.values(found.tables)) said.forEach((w) => first && first.after(make("p", w, "said")));
    document.dispatchEvent(new Event("airwork:shown"));
  };
  form.addEventListener("change", () => { remember(); keep(); look(); });
  form.addEventListener("input", () => { keep(); look(); });

  /* --- keys and paste --- */
  // Tab runs through the cells alone: who types on would press × with Enter. It is reached with → from the last cell.
  form.querySelectorAll("table.grid tr[data-row] button").forEach((b) => { b.tabIndex = -1; b.title = "take out (with keys: → from the last cell)"; });
  form.addEventListener("keydown", (e) => {
    if ((e.ctrlKey || e.metaKey) && e.key === "z" && !e.shiftKey) { e.preventDefault(); if (e.target.matches("input")) remember(); past.pop(); undo(); return; }
    if (e.key === "ArrowLeft" && e.target.matches("table.grid tr[data-row] button")) { e.preventDefault(); cellsOf(e.target.closest("tr")).at(-1).focus(); return; }
    const at = e.target.matches("input") && place(e.target);
    if (!at) return;
    const rows = rowsOf(at.grid), end = e.target.selectionStart === e.target.value.length, start = e.target.selectionEnd === 0;
    const to = { ArrowUp: [-1, 0], ArrowDown: [1, 0], Enter: [1, 0], ArrowRight: end && [0, 1], ArrowLeft: start && [0, -1] }[e.key];
    if (!to) return;
    if (e.key === "Enter") { e.preventDefault(); if (at.row === rows.length - 1) { remember(); addRow(at.grid); keep(); } }
    const row = rowsOf(at.grid)[at.row + to[0]], next = row && (cellsOf(row)[e.key === "Enter" ? 0 : at.column + to[1]] || (e.key === "ArrowRight" && row.querySelector("button")));
    if (next) { e.preventDefault(); next.focus(); if (next.select) next.select(); }
  });
  // A book prints the altitude once for its group: a line that lacks cells has them at its left if its numbers lie
  // nearer to those above when set so; they are taken from the row above.
  const apart = (a, b) => a.reduce((sum, x, i) => sum + (Number(x) && Number(b[i]) ? Math.abs(Math.log(Math.abs(x / b[i]))) : 0), 0);
  const filled = (lines) => {
    let above = [], taken = 0;
    const whole = lines.map((line) => {
      const lacks = above.length - line.length;
      const left = lacks > 0 ? apart(line, above.slice(lacks)) < apart(line, above) : lacks === 0 && !line[0].trim() && Boolean(line[1]);
      if (left) { taken += 1; line = lacks > 0 ? [...above.slice(0, lacks), ...line] : [above[0], ...line.slice(1)]; }
      if (line.length >= above.length) above = line;
      return line;
    });
    return [whole, taken];
  };
  const put = (at, given) => {
    remember();
    const strange = new Set(), plain = (text) => text.trim().toLowerCase();
    const fill = (cell, text) => {
      if (!cell.matches("select")) { cell.value = text; return; }
      const choice = [...cell.options].find((o) => plain(o.text) === plain(text) || plain(o.value) === plain(text));
      if (choice) cell.value = choice.value; else strange.add(text);
    };
    const [lines, taken] = filled(given), room = cellsOf(rowsOf(at.grid)[at.row]).length - at.column;
    const over = Math.max(0, Math.max(...lines.map((l) => l.length)) - room), say = (n, one, many) => `${n} ${n === 1 ? one : many}`;
    lines.forEach((line, i) => {
      const row = rowsOf(at.grid)[at.row + i] || addRow(at.grid), cells = cellsOf(row);
      line.forEach((text, k) => { if (cells[at.column + k]) fill(cells[at.column + k], text.trim()); });
    });
    status.textContent = [`${say(lines.length, "row", "rows")} pasted`, taken && `${taken} took what is printed once from the row above`,
      over && `${say(over, "column", "columns")} at the right left out: this table asks for ${room}`,
      strange.size && `not among the choices: ${[...strange].join(", ")}`].filter(Boolean).join("; ") + ".";
    remember(); past.pop(); keep(); look();
  };
  const linesOf = (text) => text.replace(/\r/g, "").split("\n").filter((line) => line.trim());
  const borderOf = (text) => [/\t/, /;/].find((b) => b.test(text)) || (linesOf(text).every((line) => line.trim().split(/\s+/).length > 2) ? /\s+/ : /\t/);  // a PDF gives blanks
  const cut = (line, border) => (border.source === "\\s+" ? line.trim() : line).split(border);
  form.addEventListener("paste", (e) => {
    const text = e.clipboardData.getData("text"), at = e.target.matches("input, select") && place(e.target);
    const lines = linesOf(text), border = borderOf(text);
    if (!at || (lines.length < 2 && !border.test(text.trim()))) return;
    e.preventDefault();
    if (lines.length > 1 && !/\d/.test(lines[0]) && /\d/.test(lines[1])) lines.shift();  // the columns' names
    put(at, lines.map((line) => cut(line, border)));
  });

  /* --- a table printed with temperatures, winds or banks over its columns: typed as printed, a row for each place --- */
  for (const grid of form.querySelectorAll("table.grid")) {
    const columns = [...grid.tHead.rows[0].cells].slice(1, -1), heads = columns.map((th) => th.dataset.label);
    if (!grid.dataset.path.startsWith("performance.") || !columns.some((th) => th.hasAttribute("data-stands"))) continue;
    const box = make("details", "", "across"), over = make("select"), values = make("input"), text = make("textarea"), give = make("button", "into the table", "small");
    heads.forEach((name, k) => { const o = make("option", name); o.value = k; over.append(o); });
    values.placeholder = "0 10 20 30"; text.rows = 4; give.type = "button";
    const named = (words, field) => { const label = make("label", `${words} `); label.append(field); return label; };
    box.append(make("summary", "the book prints values of one column across the page"), named("what stands across", over), named("its values, from the left", values), named("the rows as printed: what stands at the left, then for each value its numbers", text), give);
    grid.closest(".scroll").after(box);
    for (const field of [over, values, text]) field.addEventListener("input", (e) => e.stopPropagation());
    for (const field of [over, values, text]) field.addEventListener("change", (e) => e.stopPropagation());
    give.addEventListener("click", () => {
      const places = values.value.trim().split(/[\s;]+/).filter(Boolean), border = borderOf(text.value), lines = linesOf(text.value).map((line) => cut(line, border).map((c) => c.trim()));
      if (places.length < 2 || !lines.length) { status.textContent = "Give the values that stand across, and the rows."; return; }
      const inputs = [], printed = [];
      heads.forEach((_, k) => { if (k !== Number(over.value)) (columns[k].hasAttribute("data-stands") ? inputs : printed).push(k); });
      const width = lines[0].length, each = [...printed.keys()].map((k) => k + 1).reverse().find((k) => width - k * places.length >= 1 && width - k * places.length <= inputs.length);
      const wrong = lines.find((line) => line.length !== width);
      if (!each || wrong) { status.textContent = wrong ? `A row has ${wrong.length} values, the first ${width}.` : `${width} values in a row don't go into ${places.length} places.`; return; }
      const left = width - each * places.length, from = lastField && place(lastField) && place(lastField).grid === grid ? Math.max(0, inputs.indexOf(place(lastField).column)) : 0;
      remember();
      let at = rowsOf(grid).findIndex((row) => cellsOf(row).every((c) => !c.value));
      if (at < 0) at = rowsOf(grid).length;
      for (const line of lines) places.forEach((value, n) => {
        const numbers = line.slice(left + n * each, left + (n + 1) * each);
        if (numbers.every((c) => ["", "-", "–"].includes(c))) return;
        const cells = cellsOf(rowsOf(grid)[at] || addRow(grid)), write = (k, v) => { if (cells[k]) cells[k].value = ["-", "–"].includes(v) ? "" : v; };
        line.slice(0, left).forEach((v, k) => write(inputs[from + k], v));
        write(Number(over.value), value);
        numbers.forEach((v, k) => write(printed[k], v));
        at += 1;
      });
      remember(); past.pop(); keep(); look();
      status.textContent = `${lines.length} printed rows laid out; compare them with the page.`;
    });
  }
  let lastField = null;
  form.addEventListener("focusin", (e) => { if (place(e.target)) lastField = e.target; });

  /* --- the book's page beside, and a chart read by clicking: two points on each axis, then the curve --- */
  const beside = make("aside", "", "beside"), tools = make("div", "", "tools"), sheet = make("div", "", "sheet");
  const choose = make("input"); choose.type = "file"; choose.accept = "image/*,application/pdf"; choose.id = "page-of-book";
  const label = make("label", "A photo or PDF of the book's page, to have beside (stays in this browser) "); label.append(choose);
  tools.append(label); beside.append(tools, sheet);
  const picked = [];
  const says = make("span", "", "soft");
  const steps = ["left end of the x axis", "right end of the x axis", "low end of the y axis", "high end of the y axis"];
  let ends = [];
  const asking = () => { says.textContent = ends.length < 4 ? `click the ${steps[ends.length]}, its value first: ` : `${picked.length} points; click along the curve`; };
  const value = make("input"); value.type = "text"; value.setAttribute("aria-label", "value at this end of the axis");
  choose.addEventListener("change", () => {
    const file = choose.files[0];
    sheet.replaceChildren();
    [...tools.children].slice(1).forEach((c) => c.remove());
    beside.classList.remove("chart"); ends = []; picked.length = 0;  // another page has axes of its own
    if (!file) return;
    if (file.type === "application/pdf") { const frame = make("iframe"); frame.title = "the book's page"; frame.src = URL.createObjectURL(file); sheet.append(frame); return; }
    const reader = new FileReader();
    reader.addEventListener("load", () => {
      const image = make("img"); image.alt = "the book's page"; image.src = reader.result; sheet.append(image);
      const near = make("button", "nearer", "small"), chart = make("button", "read a chart by clicking", "small"), give = make("button", "points into the table", "small");
      for (const b of [near, chart, give]) b.type = "button";
      near.addEventListener("click", () => { beside.classList.toggle("near"); });
      chart.addEventListener("click", () => { beside.classList.toggle("chart"); ends = []; picked.length = 0; asking(); });
      give.addEventListener("click", () => { const at = lastField && place(lastField); if (at && picked.length) put(at, picked.map((p) => p.map((x) => String(Number(x.toPrecision(4)))))); });
      tools.append(near, chart, value, says, give);
      image.addEventListener("click", (e) => {
        if (!beside.classList.contains("chart")) return;
        const box = image.getBoundingClientRect(), at = [e.clientX - box.left, e.clientY - box.top].map((v) => v / box.width);
        if (ends.length < 4) {
          const number = Number(value.value.replace(",", "."));
          if (value.value.trim() === "" || !Number.isFinite(number)) { says.textContent = "type the value printed there first"; value.focus(); return; }
          ends.push([at, number]); value.value = ""; asking(); if (ends.length < 4) value.focus(); return;
        }
        // along the two axes as they lie: a scan is turned, a photo skewed
        const less = (a, b) => [a[0] - b[0], a[1] - b[1]], cross = (a, b) => a[0] * b[1] - a[1] * b[0];
        const [[x0, u0], [x1, u1], [y0, v0], [y1, v1]] = ends, right = less(x1, x0), up = less(y1, y0);
        picked.push([u0 + (u1 - u0) * cross(less(at, x0), up) / cross(right, up), v0 + (v1 - v0) * cross(less(at, y0), right) / cross(up, right)]);
        asking();
      });
    });
    reader.readAsDataURL(file);
  });
  form.before(beside);
  const main = document.querySelector(".parts");
  if (main) { const both = make("div"); form.replaceWith(both); both.append(beside, form); }
})();

// The entry pad: the rows being typed, their fields and the focus live here, in the browser, and nothing that the
// server does rebuilds a field under the person who types. What was typed goes to Python as a draft a moment after each
// key; Python answers with what it understood, refused or doubts, and the pad writes that beside row and cell.
//
// Everything typed is also kept in this tab's session storage, so that a reload or a lost connection loses no key.
// Texts of people reach the page as values and textContent alone.

const WHY = "why";
const SOON = 40, LATER = 300, PATIENCE = 2500; // ms: after a field is left, after a key, until an answer is given up

export default function ({ data, parentElement, setStateValue }) {
  const root = parentElement.querySelector(".pad");
  root.pad ??= new Pad(root);
  root.pad.say = setStateValue;
  root.pad.hear(data);
  return () => root.pad.leave(); // another screen is shown; what was not sent waits in this tab
}

function made(tag, attributes = {}, ...children) {
  const part = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name in part && name !== "list") part[name] = value;
    else part.setAttribute(name, value);
  }
  part.append(...children);
  return part;
}

const isBlank = row => !Object.values(row).some(text => text.trim());
const same = (one, other) => JSON.stringify(one) === JSON.stringify(other);

class Pad {
  constructor(root) {
    this.root = root;
    this.id = Math.random().toString(36).slice(2, 12); // of this load of the page; another tab has another
    this.seq = 0; // counts what was typed
    this.sent = 0;
    this.heard = 0; // how far Python is known to have it
    this.rows = [];
    this.answers = [];
    this.presses = 0;
    // The frame has keys of its own (r draws the page anew) and cannot see that these are typed in a field.
    for (const kind of ["keydown", "keypress", "keyup"]) root.addEventListener(kind, event => event.stopPropagation());
    this.onLink = event => this.followOnceHeard(event);
    document.addEventListener("click", this.onLink, true);
  }

  leave() {
    clearTimeout(this.timer);
    document.removeEventListener("click", this.onLink, true);
  }

  // A link is followed once Python has what was typed, a moment later; else the frame would drop it on the way.
  followOnceHeard(event) {
    const link = event.composedPath().find(part => part.tagName === "A" && part.href);
    if (!link || event.ctrlKey || event.metaKey || event.shiftKey || this.seq <= this.heard || !this.data.mayWrite) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    this.send(true);
    const until = Date.now() + 2 * PATIENCE;
    const follow = () => {
      if (this.seq > this.heard && Date.now() < until) return setTimeout(follow, SOON);
      document.removeEventListener("click", this.onLink, true);
      link.click();
      document.addEventListener("click", this.onLink, true);
    };
    follow();
  }

  // --- what Python says

  hear(data) {
    const isNew = data.sheet !== this.data?.sheet, isDrawnAnew = isNew || data.form !== this.data.form;
    const before = this.data;
    this.data = data;
    this.answers = data.answers;
    if (data.heard.pad === this.id) this.heard = data.heard.seq;
    this.isWaiting = this.isWaiting && this.heard < this.sent;
    const isHandled = data.handled.pad === this.id && data.handled.number >= this.pressing?.number;
    if (isNew || isHandled) this.pressing = undefined;
    if (isHandled && !isNew) this.pressed = this.again = undefined; // it was refused, and can be pressed again
    if (isNew) this.take(data, before);
    this.keep();
    if (isDrawnAnew) this.draw(isNew && before !== undefined);
    this.mark();
    if (isNew && before?.place === data.place && data.done) this.afterSave();
    if (this.seq > this.sent) this.later(SOON);
    if (isNew && this.again) this.tell(this.again);
  }

  // The rows of a new sheet; what was typed since Python last heard of this place goes on top of them.
  take(data, before) {
    const here = before?.place === data.place ? { pad: this.id, seq: this.seq, heard: this.heard, rows: this.rows, base: before.mark } : this.kept();
    const isAhead = here?.rows.length && here.seq > (here.pad === data.heard.pad ? data.heard.seq : here.heard);
    this.rows = data.rows.map(row => ({ ...row }));
    this.at = data.at < 0 ? this.rows.length : data.at;
    if (isAhead) {
      const pressed = this.pressed?.sheet === before?.sheet ? this.pressed : undefined;
      if (pressed) this.rows = this.merged(pressed.rows, here.rows);
      else if (here.pad === data.heard.pad || here.base === data.mark) this.rows = here.rows;
      else this.pressing = { what: "stray", number: ++this.presses, rows: here.rows };
      this.at = Math.min(here.at ?? this.at, this.rows.length);
      if (here.pad !== this.id) this.after = `${here.pad}:${here.seq}`;
      this.seq += 1;
    }
    this.pressed = undefined;
  }

  // Rows typed while a save was under way: a changed one replaces the saved one of its key, a new one is added.
  merged(before, now) {
    const key = row => JSON.stringify(this.data.key.map(name => row[name] ?? ""));
    const rows = this.data.rows.map(row => ({ ...row }));
    now.forEach((row, at) => {
      if (same(row, before[at] ?? {}) || isBlank(row)) return;
      const place = before[at] ? rows.findIndex(one => key(one) === key(before[at])) : -1;
      if (place < 0) rows.push(row);
      else rows[place] = row;
    });
    return rows;
  }

  // --- what is told to Python

  typed(row, column, text) {
    this.rowAt(row)[column] = text;
    this.seq += 1;
    this.keep();
    this.later(LATER);
    this.done.textContent = "";
  }

  rowAt(at) {
    while (this.rows.length <= at) this.rows.push({});
    return this.rows[at];
  }

  later(wait) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.send(), wait);
  }

  send(isNow = false) {
    if ((this.seq === this.sent && !isNow) || !this.data.mayWrite) return;
    if (!isNow && this.isWaiting && Date.now() - this.sentAt < PATIENCE) return this.later(LATER);
    clearTimeout(this.timer);
    this.isWaiting = true;
    this.sentAt = Date.now();
    this.sent = this.seq;
    this.say("draft", this.message());
    this.keep();
  }

  message() {
    const rows = this.rows.map(row => (this.isOnlyCarried(row) ? {} : { ...row }));
    while (rows.length && isBlank(rows.at(-1))) rows.pop();
    return { sheet: this.data.sheet, pad: this.id, seq: this.seq, after: this.after, rows, units: this.units(), press: this.pressing };
  }

  // A button of the pad. It goes with every message until it is done, so that a busy server cannot lose it.
  tell(what) {
    const isUnderWay = this.pressed?.sheet === this.data.sheet;
    this.again = isUnderWay ? what : undefined; // a second press waits until the first is done
    if (isUnderWay) return;
    this.pressed = { sheet: this.data.sheet, rows: this.rows.map(row => ({ ...row })) };
    this.pressing = { what, number: ++this.presses };
    this.send(true);
  }

  keep() {
    const { place, mark } = this.data;
    const { rows, seq, heard, at, id } = this;
    try {
      sessionStorage.setItem(`standrow ${place}`, JSON.stringify({ rows, seq, heard, at, pad: id, base: mark }));
    } catch {} // a browser that keeps nothing: the drafts in Python are then all there is
  }

  kept() {
    try {
      return JSON.parse(sessionStorage.getItem(`standrow ${this.data.place}`));
    } catch {
      return null;
    }
  }

  units() {
    const chosen = [...this.root.querySelectorAll("select[data-unit]")];
    return Object.fromEntries(chosen.filter(box => box.selectedIndex > 0).map(box => [box.dataset.unit, box.value]));
  }

  // --- drawing; only when the sheet or the form is another one

  draw(isToBegin) {
    const { columns, form, noun, units } = this.data;
    const inField = this.root.getRootNode().activeElement?.dataset ?? {};
    const chosen = columns.filter(column => column.units.length).map(column => {
      const box = made("select", { onchange: () => { this.seq += 1; this.later(SOON); } });
      box.dataset.unit = column.name;
      box.append(...column.units.map(unit => made("option", { textContent: unit, selected: unit === units[column.name] })));
      return made("label", {}, `${column.short} in `, box);
    });
    this.fields = made("div", { className: form === "grid" ? "grid" : "one" });
    this.list = made("ol", { className: "rows", ariaLabel: `Every ${noun} here` });
    this.next = made("button", { type: "button", className: "next", textContent: `Next ${noun}`, onclick: () => this.open(this.rows.length) });
    this.saving = made("button", { type: "button", className: "save", onclick: () => this.save() });
    this.onward = made("button", { type: "button", className: "onward", onclick: () => this.tell("onward") });
    this.done = made("p", { className: "done", role: "status" });
    const bar = made("div", { className: "choices" }, ...chosen);
    const repeats = columns.filter(column => column.repeats);
    if (repeats.length) {
      this.carry = made("input", { type: "checkbox", checked: this.carry?.checked ?? false });
      bar.append(made("label", {}, this.carry, ` Carry over ${repeats.map(column => column.short.toLowerCase()).join(", ")}`));
    }
    this.done.textContent = this.data.done;
    this.remarks = made("div", { className: "remarks", role: "status" });
    // What may appear while a person types stands behind the button for the next row, so that Tab never leads elsewhere.
    const below = form === "grid" ? [] : [this.next, this.remarks, this.list];
    this.root.replaceChildren(bar, this.fields, ...below, this.saving, this.onward, this.done);
    form === "grid" ? this.drawGrid() : this.drawOne();
    if (isToBegin || inField.column) this.focus(form === "grid" ? Number(inField.row ?? this.at) : this.at, inField.column);
  }

  drawOne() {
    const parts = this.data.columns.map((column, place) => {
      const field = this.field(this.at, column);
      field.id = `field-${place}`;
      return made("div", {}, made("label", { htmlFor: field.id, textContent: column.label }), this.boxed(field, column));
    });
    this.fields.replaceChildren(made("p", { className: "which" }), ...parts);
  }

  drawGrid() {
    const head = made("tr", {}, made("th", { scope: "col", textContent: "Row" }));
    head.append(...this.data.columns.map(column => made("th", { scope: "col", textContent: column.label })));
    this.body = made("tbody");
    this.fields.replaceChildren(made("table", {}, made("thead", {}, head), this.body));
    this.addLines();
  }

  // The rows there are, and blank ones under them so that typing never waits for a line.
  addLines() {
    for (let at = this.body.children.length / 2; at < this.rows.length + 3; at++) {
      const line = made("tr", {}, made("th", { scope: "row", textContent: at + 1 }));
      line.append(...this.data.columns.map(column => {
        const field = this.field(at, column);
        field.ariaLabel = `${column.label}, row ${at + 1}`;
        return made("td", {}, this.boxed(field, column));
      }));
      const remarks = made("td", { colSpan: this.data.columns.length, className: "remarks" });
      this.body.append(line, made("tr", { hidden: true }, made("td"), remarks));
    }
  }

  field(at, column) {
    const mode = { number: "decimal", "whole number": "numeric" }[column.kind] ?? "text";
    const field = made("input", { type: "text", inputMode: mode, autocomplete: "off", spellcheck: false, value: this.rows[at]?.[column.name] ?? "" });
    field.dataset.row = at;
    field.dataset.column = column.name;
    if (this.data.form !== "grid") field.placeholder = column.meaning;
    field.oninput = () => {
      this.typed(Number(field.dataset.row), column.name, field.value);
      if (this.body && this.data.form === "grid") this.addLines();
      this.offer(field, column);
    };
    field.onfocus = () => field.select();
    field.onblur = () => { this.offer(field, column, true); this.send(); };
    field.onkeydown = event => this.onKey(event, field, column);
    field.onpaste = event => this.paste(event, field, column);
    return field;
  }

  // A field with a list: the list is told to a screen reader, and chosen from by arrows or by how a line begins.
  boxed(field, column) {
    if (!column.options.length) return field;
    field.role = "combobox";
    field.ariaExpanded = "false";
    field.ariaAutoComplete = "list";
    const list = made("ul", { role: "listbox", hidden: true, ariaLabel: column.label });
    list.id = `list-${field.dataset.row}-${column.name}`;
    field.setAttribute("aria-controls", list.id);
    field.list_ = list;
    return made("span", { className: "box" }, field, list);
  }

  fitting(column, typed) {
    const words = typed.trim().toLowerCase();
    const begun = column.options.filter(option => option.toLowerCase().startsWith(words));
    return begun.length ? begun : column.options.filter(option => option.toLowerCase().includes(words));
  }

  offer(field, column, isOver = false) {
    const list = field.list_;
    if (!list) return;
    const options = isOver ? [] : this.fitting(this.data.columns[this.placeOf(column)], field.value).slice(0, 8);
    list.replaceChildren(...options.map((option, place) => {
      const line = made("li", { role: "option", textContent: option, id: `${list.id}-${place}`, ariaSelected: "false" });
      line.onmousedown = event => { event.preventDefault(); this.put(field, column, option); this.offer(field, column, true); };
      return line;
    }));
    list.hidden = !options.length;
    field.ariaExpanded = String(!list.hidden);
    field.removeAttribute("aria-activedescendant");
  }

  point(field, step) {
    const lines = [...field.list_.children], now = lines.findIndex(line => line.ariaSelected === "true");
    lines[now]?.setAttribute("aria-selected", "false");
    const line = lines[Math.max(0, Math.min(lines.length - 1, now + step))];
    line?.setAttribute("aria-selected", "true");
    if (line) field.setAttribute("aria-activedescendant", line.id);
  }

  put(field, column, text) {
    if (field.value === text) return;
    field.value = text;
    this.typed(Number(field.dataset.row), column.name, text);
  }

  // --- keys

  onKey(event, field, column) {
    const list = field.list_, isList = list && !list.hidden;
    const at = Number(field.dataset.row);
    if (event.key === "Enter" || event.key === "Tab") {
      const pointed = isList && [...list.children].find(line => line.ariaSelected === "true")?.textContent;
      const fits = column.isChoice && field.value.trim() ? this.fitting(column, field.value) : [];
      const isWhole = fits.some(option => option.toLowerCase() === field.value.trim().toLowerCase());
      if (pointed || (fits.length === 1 && !isWhole)) this.put(field, column, pointed || fits[0]);
    }
    if (event.key === "Escape" && isList) return this.offer(field, column, true);
    if (event.key.startsWith("Arrow") && !event.altKey) {
      const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
      if (!step) return;
      event.preventDefault();
      if (list && list.hidden && this.data.form !== "grid") this.offer(field, column);
      else if (isList) this.point(field, step);
      else if (this.data.form === "grid" && at + step >= 0) this.focus(at + step, column.name);
      return;
    }
    const place = this.placeOf(column), isLast = place === this.data.columns.length - 1;
    if (event.key === "Enter") {
      event.preventDefault();
      if (!isLast) this.focus(at, this.data.columns[place + 1].name);
      else if (!isBlank(this.rows[at] ?? {})) this.open(at + 1);
    }
    if (event.key === "Tab" && !event.shiftKey && isLast && this.data.form === "grid" && at + 1 < this.rows.length + 1) {
      if (isBlank(this.rows[at] ?? {})) return;
      event.preventDefault();
      this.open(at + 1);
    }
  }

  // Another row, or a new one; the focus is in its first field before the next key arrives.
  open(at) {
    const before = this.rows[this.data.form === "grid" ? at - 1 : this.at];
    this.at = at;
    if (!this.rows[at] && this.carry?.checked && before) {
      this.carried = {};
      for (const column of this.data.columns) if (column.repeats && before[column.name]) this.carried[column.name] = before[column.name];
      this.rows[at] = { ...this.carried };
    }
    if (this.data.form === "grid") {
      this.addLines();
      for (const column of this.data.columns) this.fieldOf(at, column.name).value = this.rows[at]?.[column.name] ?? "";
    } else {
      for (const field of this.fields.querySelectorAll("input[data-column]")) {
        if (field.dataset.column === WHY) continue;
        field.dataset.row = at;
        field.value = this.rows[at]?.[field.dataset.column] ?? "";
        if (field.list_) this.offer(field, null, true);
      }
    }
    this.mark();
    this.focus(at);
    this.keep();
    this.later(SOON);
  }

  isOnlyCarried(row) {
    return this.carried !== undefined && Object.entries(row).every(([name, text]) => !text || text === this.carried[name]);
  }

  placeOf(column) {  // each answer brings the columns anew
    return this.data.columns.findIndex(one => one.name === column.name);
  }

  fieldOf(at, column) {
    return this.fields.querySelector(`input[data-row="${at}"][data-column="${column}"]`);
  }

  focus(at, column = this.data.columns[0].name) {
    if (this.data.form !== "grid" && at !== this.at) return this.open(at);
    this.fieldOf(at, column)?.focus();
  }

  // A block from a spreadsheet: a line a row, tabs between cells, from this cell on.
  paste(event, field, column) {
    const text = event.clipboardData.getData("text").replace(/\r\n?/g, "\n").replace(/\n$/, "");
    if (!/[\t\n]/.test(text)) return;
    event.preventDefault();
    const first = this.placeOf(column), at = Number(field.dataset.row);
    text.split("\n").forEach((line, down) => {
      line.split("\t").forEach((cell, across) => {
        const name = this.data.columns[first + across]?.name;
        if (name) this.rowAt(at + down)[name] = cell.trim();
      });
    });
    this.seq += 1;
    this.keep();
    if (this.data.form === "grid") {
      this.addLines();
      for (const box of this.body.querySelectorAll("input[data-column]")) {
        if (box.dataset.column !== WHY) box.value = this.rows[Number(box.dataset.row)]?.[box.dataset.column] ?? "";
      }
    } else this.open(this.at);
    this.later(SOON);
  }

  // --- what Python answered, beside row and cell

  mark() {
    const { form, noun, save } = this.data;
    for (const field of this.fields.querySelectorAll("input[data-column]")) {
      if (field.dataset.column === WHY) continue;
      const answer = this.answers[Number(field.dataset.row)];
      const isRefused = Boolean(answer?.refused.some(([column]) => column.split(" ").includes(field.dataset.column)));
      field.ariaInvalid = String(isRefused);
      field.classList.toggle("odd", Boolean(answer?.unlikely.some(([column]) => column.split(" ").includes(field.dataset.column))));
    }
    if (form === "grid") {
      for (let at = 0; at < this.body.children.length / 2; at++) {
        const line = this.body.children[2 * at + 1];
        this.write(line.querySelector(".remarks"), at);
        line.hidden = !line.querySelector(".remarks").childElementCount;
      }
    } else {
      const isThere = this.at < this.rows.length && !isBlank(this.rows[this.at]);
      this.fields.querySelector(".which").textContent = `Row ${this.at + 1}${isThere ? "" : `, a new ${noun}`}`;
      this.write(this.remarks, this.at);
    }
    this.drawList();
    this.saving.textContent = save.words;
    this.saving.ariaDisabled = String(save.isOff && this.seq === this.sent && !this.isWaiting);
    this.onward.textContent = this.data.onward;
    this.onward.hidden = !this.data.onward;
  }

  write(remarks, at) {
    const answer = this.answers[at], lines = [];
    if (answer?.makes) lines.push(["understood", answer.makes]);
    for (const [, words] of answer?.refused ?? []) lines.push(["refused", `✗ ${words}`]);
    for (const [, words] of answer?.unlikely ?? []) lines.push(["unlikely", `? ${words}`]);
    for (const words of answer?.asks ?? []) lines.push(["unlikely", `? ${words}`]);
    const isAsked = Boolean(answer?.unlikely.length || this.rows[at]?.[WHY]);
    const now = remarks.querySelector("input");
    const texts = lines.map(([kind, words]) => made("p", { className: kind, textContent: words }));
    if (now && isAsked && Number(now.dataset.row) === at) {  // never taken from under the person who types in it
      remarks.querySelectorAll("p").forEach(line => line.remove());
      remarks.prepend(...texts);
    } else remarks.replaceChildren(...texts, ...(isAsked ? [this.why(at)] : []));
  }

  why(at) {
    const field = made("input", { type: "text", value: this.rows[at]?.[WHY] ?? "", autocomplete: "off" });
    field.dataset.row = at;
    field.dataset.column = WHY;
    field.oninput = () => this.typed(at, WHY, field.value);
    field.onblur = () => this.send();
    field.onkeydown = event => { if (event.key === "Enter") this.send(); };
    return made("label", {}, "Keep it, because ", field);
  }

  drawList() {
    if (this.data.form === "grid") return;
    const lines = this.rows.map((row, at) => [row, at]).filter(([row]) => !isBlank(row) && !this.isOnlyCarried(row));
    while (this.list.children.length > lines.length) this.list.lastChild.remove();
    while (this.list.children.length < lines.length) this.list.append(made("li", {}, made("button", { type: "button" })));
    lines.forEach(([row, at], place) => {
      const answer = this.answers[at], line = this.list.children[place].firstChild;
      const name = this.data.key.map(column => row[column]).filter(Boolean).join(", ") || "no name yet";
      const state = answer?.refused.length ? "✗ refused" : answer?.unlikely.length && !row[WHY] ? "? unlikely" : (answer?.makes ?? "");
      line.textContent = `Row ${at + 1}: ${name}${answer?.isSaved ? "" : ", not saved yet"} ${state}`;
      line.onclick = () => this.open(at);
      line.ariaCurrent = at === this.at ? "true" : null;
    });
  }

  save() {
    if (this.saving.ariaDisabled !== "true") this.tell("save");
  }

  // The first refused row is shown and its field has the focus; without one the next plot is one key away.
  afterSave() {
    const at = this.answers.findIndex(answer => answer?.refused.length);
    if (at >= 0) {
      const column = this.answers[at].refused.flatMap(([names]) => names.split(" ")).find(name => this.data.columns.some(one => one.name === name));
      this.focus(at, undefined);
      this.fieldOf(at, column ?? this.data.columns[0].name)?.focus();
      this.root.getRootNode().activeElement?.scrollIntoView({ block: "center" });
    } else (this.onward.hidden ? this.saving : this.onward).focus();
  }
}

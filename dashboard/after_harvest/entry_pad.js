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
  root.pad.hear(data[0]);
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
    this.told = new Map(); // rows by the seq they were sent under, as far as Python may still answer to them
    this.rows = [];
    this.answers = [];
    this.queue = []; // presses that Python has not handled yet, the first one first
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

  // --- what Python says. None of it takes the focus or another row from the person who types: the plot, the row and
  // the field under the keys change at a key or a click alone. `left` is the plot that such a key has left while Python
  // is still there.

  hear(data) {
    const before = this.data, isNew = data.sheet !== before?.sheet;
    this.data = data;
    if (data.heard.pad === this.id) this.heard = data.heard.seq;
    this.isWaiting = this.isWaiting && this.heard < this.sent;
    while (data.handled.pad === this.id && data.handled.number >= this.queue[0]?.number) this.queue.shift();
    if (isNew) { // what was told since went to a sheet that is no more, and is told again
      this.queue.forEach(press => { press.isTold = false; });
      this.sent = this.heard;
      this.isWaiting = false;
    }
    if (this.left?.where === data.where) {
      if (isNew) {
        this.left.rows = this.merged(this.lastTold(), this.left.rows).rows;
        this.begin();
      }
    } else {
      const isElsewhere = before !== undefined && before.where !== data.where;
      if (isNew) this.take(before);
      Object.assign(this, { place: data.place, where: data.where, answers: data.answers });
      if (isNew || data.form !== before.form) this.drawAnew(isElsewhere || (before && document.activeElement === document.body));
      else this.mark();
    }
    this.keep();
    this.pump();
  }

  isTyping() {
    return this.root.getRootNode().activeElement?.dataset.column !== undefined;
  }

  // Nothing was told of this sheet so far.
  begin() {
    this.given = this.data.rows.map(row => ({ ...row }));
    this.told.clear();
  }

  // The rows that Python answers to.
  lastTold() {
    return this.told.get(this.heard) ?? this.given;
  }

  // The rows of a new sheet, and on top of them what was typed since Python last heard of this place.
  take(before) {
    const { data } = this, isHere = before?.where === data.where, isOnward = this.left && this.where === data.where;
    const kept = isHere || isOnward ? null : this.kept();
    const fresh = data.rows.map(row => ({ ...row }));
    if (isHere || isOnward) {
      const { rows, places } = this.merged(isHere ? this.lastTold() : [], this.rows);
      const moved = at => places[at] ?? rows.length + Math.max(0, at - places.length);
      if (isHere && !this.isTyping()) this.at = undefined;
      else this.at = moved(this.at);
      this.moved = moved;
      this.rows = rows;
      if (isHere && this.seq === this.heard) this.unitsNow = { ...data.units };
    } else {
      this.queue = [];
      this.at = this.moved = undefined;
      this.rows = fresh;
      this.unitsNow = { ...data.units };
      const isAhead = kept?.rows.length && kept.seq > (kept.pad === data.heard.pad ? data.heard.seq : kept.heard);
      if (isAhead && kept.isOnTop) this.rows = [...fresh, ...kept.rows];
      else if (isAhead && (kept.pad === data.heard.pad || kept.base === data.mark)) this.rows = kept.rows;
      else if (isAhead) this.queue.push({ what: "stray", number: ++this.presses, rows: kept.rows });
      if (isAhead) {
        this.at = Math.min((kept.at ?? this.rows.length) + (kept.isOnTop ? fresh.length : 0), this.rows.length);
        if (kept.pad !== this.id) this.after = `${kept.pad}:${kept.seq}`;
        this.seq += 1;
      }
    }
    if (isOnward) this.forget(this.left.place); // it came along with the key that led here
    this.left = undefined;
    this.begin();
    const refused = data.done ? data.answers.findIndex(answer => answer?.refused.length) : -1;
    this.at ??= refused >= 0 ? refused : data.at < 0 ? this.rows.length : data.at;
  }

  // Python's rows, and of the rows here what is not as Python had it: a changed one stands for the one of its key, a new
  // one is added. places[at] is where a row of `now` is then; undefined for one that is there no more.
  merged(base, now) {
    const key = row => JSON.stringify(this.data.key.map(name => row[name] ?? ""));
    const rows = this.data.rows.map(row => ({ ...row })), isTaken = [];
    const places = now.map((row, at) => {
      const was = base[at] ?? {};
      const place = isBlank(was) ? -1 : rows.findIndex((one, place) => !isTaken[place] && key(one) === key(was));
      if (place >= 0) isTaken[place] = true;
      if (!same(row, was) && place >= 0) rows[place] = row;
      else if (!same(row, was) && !isBlank(row)) return rows.push(row) - 1;
      return place < 0 ? undefined : place;
    });
    return { rows, places };
  }

  // --- what is told to Python

  typed(row, column, text) {
    this.rowAt(row)[column] = text;
    this.seq += 1;
    this.keep();
    this.later(LATER);
    this.done.textContent = "";
    this.saving.ariaDisabled = "false";
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
    if (!isNow && (this.isWaiting || this.left) && Date.now() - this.sentAt < PATIENCE) return this.later(LATER);
    clearTimeout(this.timer);
    const message = this.message();
    this.isWaiting = true;
    this.sentAt = Date.now();
    this.sent = message.seq;
    for (const seq of this.told.keys()) if (seq < this.heard) this.told.delete(seq);
    this.told.set(message.seq, message.all);
    delete message.all;
    this.say("draft", message);
    this.keep();
    if (this.left) this.later(LATER); // again, until Python has come along
  }

  // What stands where Python is: here, or at the plot that was left.
  message() {
    const { rows, seq, units } = this.left ?? { rows: this.rows, seq: this.seq, units: this.unitsNow };
    const all = rows.map(row => (this.isOnlyCarried(row) ? {} : { ...row })), typed = [...all];
    while (typed.length && isBlank(typed.at(-1))) typed.pop();
    const { what, number, rows: stray } = this.queue.find(press => press.isTold) ?? {};
    return { sheet: this.data.sheet, pad: this.id, seq, after: this.after, rows: typed, units, press: what && { what, number, rows: stray }, all };
  }

  // A button of the pad. It goes with every message until it is done, so that a busy server cannot lose it.
  press(what) {
    this.queue.push({ what, number: ++this.presses, seq: this.seq, isOfLeft: false });
    this.pump();
  }

  // Tell Python the next press, once it is where that was pressed.
  pump() {
    const next = this.queue[0];
    if (next && !next.isTold && (!this.left || next.isOfLeft)) {
      next.isTold = true;
      this.send(true);
    } else if (this.seq > this.sent && !this.left) this.later(SOON);
  }

  keep() {
    const { place, rows, seq, heard, at, id: pad } = this;
    this.store(place, { rows, seq, heard, at, pad, base: this.data.mark, isOnTop: Boolean(this.left) });
    if (this.left) this.store(this.left.place, { rows: this.left.rows, seq: this.left.seq, heard, pad, base: this.data.mark });
  }

  store(place, what) {
    try {
      sessionStorage.setItem(`standrow ${place}`, JSON.stringify(what));
    } catch {} // a browser that keeps nothing: the drafts in Python are then all there is
  }

  forget(place) {
    try {
      sessionStorage.removeItem(`standrow ${place}`);
    } catch {}
  }

  kept() {
    try {
      return JSON.parse(sessionStorage.getItem(`standrow ${this.data.place}`));
    } catch {
      return null;
    }
  }

  // --- drawing; only when the sheet or the form is another one

  // What had the focus has it again at once, a field with the same text chosen; else the first field where that is asked.
  drawAnew(isToBegin) {
    const before = this.root.getRootNode().activeElement, { row, column } = { ...before?.dataset };
    const at = this.data.form === "grid" && row !== undefined ? (this.moved ?? Number)(Number(row)) : this.at;
    this.moved = undefined;
    this.draw();
    this.mark();
    if (column === WHY) this.root.querySelector(`input[data-row="${at}"][data-column="${WHY}"]`)?.focus();
    else if (column) {
      this.focus(at, column);
      const field = this.fieldOf(at, column);
      if (field?.value === before.value) field.setSelectionRange(before.selectionStart, before.selectionEnd);
    } else if (before?.className) this.root.querySelector(`.${before.className}`)?.focus();
    else if (isToBegin) this.focus(this.at);
    if (!column && this.data.done && this.answers[this.at]?.refused.length) {
      this.fieldOf(this.at, this.data.columns[0].name)?.scrollIntoView({ block: "center" });
    }
  }

  draw() {
    const { columns, form, noun } = this.data;
    const chosen = columns.filter(column => column.units.length).map(column => {
      const box = made("select", { onchange: () => this.chooseUnit(column, box.selectedIndex > 0 ? box.value : "") });
      box.dataset.unit = column.name;
      box.append(...column.units.map(unit => made("option", { textContent: unit, selected: unit === this.unitsNow[column.name] })));
      return made("label", {}, `${column.short} in `, box);
    });
    this.fields = made("div", { className: form === "grid" ? "grid" : "one" });
    this.list = made("ol", { className: "rows", ariaLabel: `Every ${noun} here` });
    this.next = made("button", { type: "button", className: "next", textContent: `Next ${noun}`, onclick: () => this.open(this.rows.length) });
    this.saving = made("button", { type: "button", className: "save", onclick: () => this.save() });
    this.onward = made("button", { type: "button", className: "onward", onclick: () => this.goOn() });
    this.mend = made("button", { type: "button", className: "mend", onclick: () => this.openRefused() });
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
    const isGrid = form === "grid", beside = isGrid ? [] : [this.next, this.remarks], below = isGrid ? [] : [this.list];
    this.root.replaceChildren(bar, this.fields, ...beside, this.saving, this.onward, this.mend, this.done, ...below);
    form === "grid" ? this.drawGrid() : this.drawOne();
  }

  chooseUnit(column, unit) {
    const { [column.name]: _, ...others } = this.unitsNow;
    this.unitsNow = unit ? { ...others, [column.name]: unit } : others;
    this.seq += 1;
    this.later(SOON);
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
    if (this.data.form !== "grid") Object.assign(field, { placeholder: column.hint, title: column.meaning });
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
  open(at, column) {
    const before = this.rows[this.data.form === "grid" ? at - 1 : this.at];
    this.at = at;
    this.carryOver(at, before);
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
    this.focus(at, column);
    this.keep();
    this.later(SOON);
  }

  carryOver(at, before) {
    if (this.rows[at] || !this.carry?.checked || !before) return;
    this.carried = {};
    for (const column of this.data.columns) if (column.repeats && before[column.name]) this.carried[column.name] = before[column.name];
    this.rows[at] = { ...this.carried };
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
    if (this.data.form !== "grid" && at !== this.at) return this.open(at, column);
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
    this.saving.textContent = this.left ? "Save" : save.words;
    this.saving.ariaDisabled = String(this.isSaveOff());
    this.onward.textContent = this.data.onward?.words ?? "";
    this.onward.hidden = !this.data.onward || Boolean(this.left);
    const refused = this.refused();
    this.mend.hidden = refused < 0;
    this.mend.textContent = `Row ${refused + 1} is refused: open it`;
  }

  isSaveOff() {
    return this.data.save.isOff && this.seq === this.heard;
  }

  refused() {
    return this.answers.findIndex(answer => answer?.refused.length);
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

  // The focus goes on at once to where the next plot is one key away, and no answer moves it from there.
  save() {
    const isUnderWay = this.queue.some(press => press.what === "save" && press.seq === this.seq);
    if (this.isSaveOff() || isUnderWay) return; // pressed twice it would say that nothing was left to save
    if (!this.onward.hidden) this.onward.focus();
    this.press("save");
  }

  openRefused() {
    const at = this.refused(), answer = this.answers[at];
    const names = answer?.refused.flatMap(([columns]) => columns.split(" ")) ?? [];
    if (answer) this.focus(at, names.find(name => this.placeOf({ name }) >= 0));
  }

  // The next plot is here at once, with an empty row under the keys; Python comes along and brings what is on record.
  goOn() {
    if (!this.data.onward || this.left) return;
    const { place, where, units, says } = this.data.onward, before = this.rows[this.at];
    this.press("onward");
    this.queue.forEach(press => { press.isOfLeft = true; });
    this.left = { place: this.place, where: this.where, rows: this.rows, seq: this.seq, units: this.unitsNow };
    Object.assign(this, { place, where, rows: [], answers: [], at: 0, unitsNow: { ...units }, seq: this.seq + 1 });
    this.carryOver(0, before);
    this.draw();
    this.done.textContent = says;
    this.mark();
    this.focus(0);
    this.keep();
    this.pump();
  }
}

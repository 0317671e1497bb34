"""What the keys do in the fields of the entry screen, where Streamlit has no setting for it.

Enter goes to the next field, as in a spreadsheet. Tab in a list takes what fits what was typed, which would be lost
otherwise. After another row was chosen typing begins in the first field. It all stays on the page: no request is made.
"""

KEYS = """{
const fields = () => [...document.querySelectorAll("[class*='st-key-one-'] input")];
const isList = field => field.getAttribute("role") === "combobox";
if (!window.entryKeys) {
  window.entryKeys = true;
  document.addEventListener("keydown", event => {  // Tab takes the line a list points at, or the first that fits
    const field = event.target, typed = field.value?.trim();
    if (event.key !== "Tab" || !fields().includes(field) || !isList(field)) return;
    const lines = [...document.querySelectorAll("[role=option]")], isNew = line => line.id.endsWith("__creatable__");
    const pointed = lines.find(line => line.id === field.getAttribute("aria-activedescendant") && !isNew(line));
    const same = lines.find(line => line.textContent === typed);
    const fits = typed ? lines.find(line => !isNew(line)) ?? lines[0] : undefined;
    (pointed ?? same ?? fits)?.click();
  }, true);
  document.addEventListener("keydown", event => {
    const at = fields().indexOf(event.target);
    if (event.key !== "Enter" || at < 0 || isList(event.target)) return;
    (fields()[at + 1] ?? document.querySelector(".st-key-next_row button"))?.focus();
  });
}
const toFirst = tries => {
  const first = document.querySelector("[class*='st-key-FIRST'] input");
  if (first) first.focus(); else if (tries) setTimeout(() => toFirst(tries - 1), 50);
};
if ("FIRST") toFirst(100);
}"""


def script(first_of: int | None) -> str:
    """The script, ready for st.html; fixed text but for a number, so nothing that was typed can get into it.

    first_of : number of the sheet in whose first field typing begins; None leaves the focus where it is
    """
    return f"<script>{KEYS.replace('FIRST', '' if first_of is None else f'one-{first_of}-')}</script>"

"""What the keys do in the fields of the entry screen, where Streamlit has no setting for it.

Enter goes to the next field, as in a spreadsheet. Tab in a list takes what fits what was typed, which would be lost
otherwise. After another row was chosen typing begins in the first field. It all stays on the page: no request is made.
"""

KEYS = """{
const fields = () => [...document.querySelectorAll("[class*='st-key-one-'] input")];
const isList = field => field.getAttribute("role") === "combobox";
if (!window.entryKeys) {
  window.entryKeys = true;
  const press = (field, key) =>
    field.dispatchEvent(new KeyboardEvent("keydown", {key, bubbles: true, cancelable: true}));
  document.addEventListener("keydown", event => {  // Tab takes what a list points at, or the first line that fits
    const field = event.target;
    if (event.key !== "Tab" || !fields().includes(field) || !isList(field)) return;
    const pointsAt = field.getAttribute("aria-activedescendant");
    if (pointsAt?.endsWith("__creatable__") && document.querySelectorAll("[role=option]").length > 1)
      press(field, "ArrowDown");
    if (pointsAt) press(field, "Enter");
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

// Presses the button below what was drawn first: when somebody scrolls or prints, when the window is high enough to show
// it, or after a while, so that whoever searches in the page finds all of it.
const WAIT_MS = 1000
const STILL_TO_COME = '[data-testid=stSkeleton], [data-testid=stVegaLiteChart]:not(:has(svg))'
let button = null
let ends = new AbortController() // the watch over the button
let later = 0

function press() {
  stop()
  button.click()
}

function stop() {
  ends.abort()
  clearTimeout(later)
  later = 0
}

function watch() {
  ends = new AbortController()
  document.addEventListener('scroll', event => event.target.scrollTop > 0 && press(), {capture: true, signal: ends.signal})
  addEventListener('beforeprint', press, {signal: ends.signal})
}

new MutationObserver(() => {
  const found = document.querySelector('.st-key-rest button')
  if (found !== button) {
    stop()
    button = found
    if (button) watch()
  }
  // Before pictures are drawn they have no height, and the button stands too high.
  if (ends.signal.aborted || later || !button || document.querySelector(STILL_TO_COME)) return
  later = setTimeout(press, WAIT_MS)
  if (button.getBoundingClientRect().top < innerHeight) press()
}).observe(document, {childList: true, subtree: true})

/* Small helpers for making elements. Text only ever goes in as text. */

const SVG = "http://www.w3.org/2000/svg";

export function byId(id) {
  return document.getElementById(id);
}

/* Attributes by name; "on" holds listeners; false and null leave an attribute out. */
export function make(tag, attributes = {}, ...children) {
  return build(document.createElement(tag), attributes, children);
}

export function draw(tag, attributes = {}, ...children) {
  return build(document.createElementNS(SVG, tag), attributes, children);
}

export function drawing(viewBox, className, ...children) {
  const hidden = { "aria-hidden": "true", focusable: "false" };
  return draw("svg", { viewBox, class: className, ...hidden }, ...children);
}

export function button(className, click, ...children) {
  return make("button", { type: "button", class: className, on: { click } }, ...children);
}

export function hiddenText(text) {
  return make("span", { class: "sr-only" }, text);
}

/* Only if it differs: setting the same text again makes the browser lay it out again. */
export function setText(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/* Only if it differs: the same value again makes the browser work out the styles again. */
export function setHidden(element, hidden) {
  if (element.hidden !== hidden) element.hidden = hidden;
}

export function fillWith(element, ...children) {
  element.replaceChildren(...children.flat().filter((child) => child !== null));
}

/* As fillWith, but what is there already stays: it is laid out and painted. For elements without
   listeners. */
export function refill(element, ...children) {
  const wanted = children.filter((child) => child !== null);
  while (element.childNodes.length > wanted.length) element.lastChild.remove();
  wanted.forEach((child, at) => {
    const old = element.childNodes[at];
    if (!old) element.append(child);
    else if (!old.isEqualNode(child)) change(old, child);
  });
}

function change(old, wanted) {
  if (old.cloneNode().isEqualNode(wanted.cloneNode())) refill(old, ...wanted.childNodes);
  else old.replaceWith(wanted);
}

function build(element, { on = {}, ...attributes }, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== false && value !== null) {
      element.setAttribute(name, value === true ? "" : value);
    }
  }
  for (const [name, listener] of Object.entries(on)) {
    element.addEventListener(name, listener);
  }
  element.append(...children.flat().filter((child) => child !== null));
  return element;
}

/* Hide the children that do not fit into the height of their container, so that the keyboard does
   not reach them either. True if something is hidden. */
export function hideOverflow(container) {
  const children = [...container.children];
  for (const child of children) child.hidden = false;
  const end = container.getBoundingClientRect().bottom + 1;
  const over = children.filter((child) => child.getBoundingClientRect().bottom > end);
  for (const child of over) child.hidden = true;
  return over.length > 0;
}

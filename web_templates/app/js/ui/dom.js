// The one way this app makes elements: text goes in as text, never as markup.

/** @typedef {Node | string | number | null | undefined | false | Array<any>} Child */
/** @typedef {Record<string, any>} Props attributes by name; `on` holds listeners by event name */

const SVG = "http://www.w3.org/2000/svg";

/**
 * @param {Element} element
 * @param {Props} props
 */
function dress(element, props) {
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === undefined || value === false) continue;
    if (name === "on") {
      for (const [event, listener] of Object.entries(value)) element.addEventListener(event, /** @type {any} */ (listener));
    } else if (name === "value" && !(element instanceof SVGElement)) {
      /** @type {any} */ (element).value = value;
    } else {
      element.setAttribute(name, value === true ? "" : String(value));
    }
  }
}

/**
 * @param {ParentNode} parent
 * @param {Child[]} children
 */
function fill(parent, children) {
  for (const child of children) {
    if (child === null || child === undefined || child === false) continue;
    if (Array.isArray(child)) fill(parent, child);
    else parent.append(child instanceof Node ? child : String(child));
  }
}

/**
 * An HTML element.
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Props | null} [props]
 * @param {...Child} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function h(tag, props, ...children) {
  const element = document.createElement(tag);
  fill(element, children);
  // Last, so that a select's value finds its options.
  dress(element, props ?? {});
  return element;
}

/**
 * An SVG element.
 * @template {keyof SVGElementTagNameMap} T
 * @param {T} tag
 * @param {Props | null} [props]
 * @param {...Child} children
 * @returns {SVGElementTagNameMap[T]}
 */
export function s(tag, props, ...children) {
  const element = document.createElementNS(SVG, tag);
  dress(element, props ?? {});
  fill(element, children);
  return element;
}

/**
 * @param {Element} element
 * @param {...Child} children
 */
export function refill(element, ...children) {
  element.replaceChildren();
  fill(element, children);
}

let counter = 0;
/**
 * An id that no other element has.
 * @param {string} stem
 */
export function fresh(stem) {
  counter += 1;
  return `${stem}-${counter}`;
}

/**
 * Words for screen readers alone.
 * @param {string} words
 */
export function unseen(words) {
  return h("span", { class: "unseen" }, words);
}

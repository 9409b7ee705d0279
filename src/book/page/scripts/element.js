// Elements, made from text only.

/** An element with attributes and content. Text never becomes markup. */
function element(name, attributes, ...content) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...content);
  return made;
}

// Numbers as thumbs type them. Here a lone mark is always the decimal mark: nobody types thousands
// with a separator on a number pad, and the page shows at once what was understood.
const NUMBER = /^[-−+]?(\d+([.,]\d*)?|[.,]\d+)$/;

export const isNumber = (text) => NUMBER.test(text.trim());

/** Which mark a text uses: the style it has to be read in. */
export function styleOf(texts, habit) {
  const joined = texts.join(" ");
  if (joined.includes(",") && !joined.includes(".")) return "decimal_comma";
  if (joined.includes(".") && !joined.includes(",")) return "decimal_point";
  return habit;
}

/** Whether text has the form of an id (UUID, RFC 9562 section 4); whether there is something under it is another matter. */
export function isId(text: string): boolean {
  return /^[\da-f]{8}(?:-[\da-f]{4}){3}-[\da-f]{12}$/i.test(text);
}

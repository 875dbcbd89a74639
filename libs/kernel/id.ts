/** Whether text has the form of an id (UUID, RFC 9562 section 4); whether there is something under it is another matter. */
export function isId(text: string): boolean {
  return /^[\da-f]{8}(?:-[\da-f]{4}){3}-[\da-f]{12}$/i.test(text);
}

/**
 * The id of nothing. What is not found is asked for with it all the same where more is asked about what is there, so that
 * neither the number of questions nor the time of an answer tells what there is.
 */
export const NO_ID = '00000000-0000-0000-0000-000000000000';

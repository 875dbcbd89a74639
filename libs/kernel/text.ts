/**
 * Whether text can be stored and printed as it is: no NUL character, no half of a surrogate pair. PostgreSQL takes neither
 * (its documentation, "Character Types" and "JSON Types"), and no keyboard makes them: they come from broken programs.
 */
export function isSoundText(text: string): boolean {
  return !text.includes('\0') && !/\p{Surrogate}/u.test(text);
}

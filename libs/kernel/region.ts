/**
 * Whether the text has the form of a region code: ISO 3166-2, two capital letters, a hyphen, one to three capital letters or
 * digits (`AT-7`). Whether a country uses the code is not asked: demo and tests use codes that no country has.
 */
export function isRegionCode(text: string): boolean {
  return /^[A-Z]{2}-[A-Z0-9]{1,3}$/.test(text);
}

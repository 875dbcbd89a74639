/** Form of ISO 3166-1 alpha-2, alone or with the subdivision part of ISO 3166-2. */
const FORM = /^([A-Z]{2})(-[A-Z0-9]{1,3})?$/;

/**
 * A jurisdiction in upper case: a country of ISO 3166-1, or one of its subdivisions by ISO 3166-2; null for anything else.
 * Countries are those the Unicode CLDR names (with EU and UN, which ISO reserves); of a subdivision only the form is checked.
 */
export function parseJurisdiction(text: string): string | null {
  const code = text.trim().toUpperCase();
  const country = FORM.exec(code)?.[1];
  // CLDR's own codes for "unknown", "outlying Oceania" and a currency area name no jurisdiction. XA and XB, its pseudo regions,
  // ISO leaves to its users: no country has them, and the regions of the demo are written with XA.
  if (country === undefined || ['ZZ', 'QO', 'EZ'].includes(country)) return null;
  const known = new Intl.DisplayNames('en', { type: 'region', fallback: 'none' }).of(country) !== undefined;
  return known ? code : null;
}

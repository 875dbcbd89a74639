import { createHash } from 'node:crypto';
import canonicalize from 'canonicalize';

/** Canonical JSON of RFC 8785: the same value always gives the same bytes. Throws TypeError for what JSON cannot hold. */
export function canonicalJson(value: unknown): string {
  const text = canonicalize(value);
  if (text === undefined) throw new TypeError('This value has no JSON form.');
  return text;
}

/** SHA-256 in lower-case hexadecimal. */
export function sha256Hex(text: string): string {
  return createHash('sha256').update(text, 'utf8').digest('hex');
}

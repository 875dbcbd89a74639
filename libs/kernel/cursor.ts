import { isSoundText } from './text.js';

/** Longest cursor that is looked at; ours stay far below. */
const MAX_LENGTH = 2000;

/** Opaque cursor for keyset paging: base64url of the JSON of the sort keys of the last row, in order. Not secret, not signed. */
export function encodeCursor(parts: readonly string[]): string {
  const bytes = new TextEncoder().encode(JSON.stringify(parts));
  const binary = Array.from(bytes, (byte) => String.fromCharCode(byte)).join('');
  return btoa(binary).replaceAll('+', '-').replaceAll('/', '_').replaceAll('=', '');
}

/**
 * The sort keys in a cursor; null for anything `encodeCursor` would not have made. The caller still checks that the
 * number and form of the keys fit its query.
 */
export function decodeCursor(text: string): string[] | null {
  if (text.length > MAX_LENGTH || !/^[\w-]+$/.test(text)) return null;
  try {
    const binary = atob(text.replaceAll('-', '+').replaceAll('_', '/'));
    const bytes = Uint8Array.from(binary, (character) => character.charCodeAt(0));
    const parts: unknown = JSON.parse(new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(bytes));
    if (!Array.isArray(parts) || !parts.every((part) => typeof part === 'string' && isSoundText(part))) return null;
    return encodeCursor(parts) === text ? parts : null;
  } catch {
    return null;
  }
}

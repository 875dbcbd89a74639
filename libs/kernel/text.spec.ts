import { describe, expect, it } from '@jest/globals';
import { isSoundText } from './text.js';

describe('text that can be stored', () => {
  it.each(['', 'Odile', 'Фен', '\u{1f40d}', 'one\ntwo\ttabs', '\u202e\u200f', '\ufffd', '\ufffe'])(
    '%j is sound',
    (text) => {
      expect(isSoundText(text)).toBe(true);
    },
  );
  it.each(['a\0b', '\0', 'a\ud800b', '\udc00', '\udc0d\ud83d'])('%j is not', (text) => {
    expect(isSoundText(text)).toBe(false);
  });
});

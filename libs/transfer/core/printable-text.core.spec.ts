import { describe, expect, it } from '@jest/globals';
import { printableText } from './printable-text.core.js';

describe('printableText', () => {
  it.each([
    ['Haus Lindenau, Straße 5 – „alt“ €', 'Haus Lindenau, Straße 5 – „alt“ €'],
    ['Lukáš Dvořák', 'Lukáš Dvorák'],
    ['Łódź', 'Lódz'],
    ['Пётр', '????'],
    ['line\nbreak', 'line?break'],
    ['e\u0301', 'é'],
  ])('%j prints as %j', (text, printed) => {
    expect(printableText(text)).toBe(printed);
  });
});

import { describe, expect, it } from '@jest/globals';
import { isId } from './id.js';

describe('the form of an id', () => {
  it.each(['01a211f6-c34e-75c1-9cc9-866ef51dfac8', '01A211F6-C34E-75C1-9CC9-866EF51DFAC8'])('%s has it', (text) => {
    expect(isId(text)).toBe(true);
  });
  it.each([
    '',
    'x',
    '1',
    '{01a211f6-c34e-75c1-9cc9-866ef51dfac8}',
    '01a211f6c34e75c19cc9866ef51dfac8',
    '01a211f6-c34e-75c1-9cc9-866ef51dfac8\n',
  ])('%j has not', (text) => {
    expect(isId(text)).toBe(false);
  });
});

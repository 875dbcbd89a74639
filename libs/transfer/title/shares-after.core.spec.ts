import { describe, expect, it } from '@jest/globals';
import { sharesAfter } from './shares-after.core.js';

const after = (...shares: [string, number][]) =>
  sharesAfter(
    shares.map(([owner, parts]) => ({ owner, parts })),
    'giver',
    'receiver',
    (a, b) => a === b,
  ).map(({ owner, parts }) => [owner, parts]);

describe('sharesAfter', () => {
  it('given a sole owner, the receiver is the sole owner', () => {
    expect(after(['giver', 1])).toEqual([['receiver', 1]]);
  });

  it('given other owners, they keep their shares', () => {
    expect(after(['breeder', 1], ['giver', 2])).toEqual([
      ['breeder', 1],
      ['receiver', 2],
    ]);
  });

  it('given a receiver who owns a share already, joins the two', () => {
    expect(after(['receiver', 1], ['giver', 1], ['breeder', 2])).toEqual([
      ['breeder', 2],
      ['receiver', 2],
    ]);
  });
});

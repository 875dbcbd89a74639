import { describe, expect, it } from '@jest/globals';
import fc from 'fast-check';
import { SealedIds } from './sealed-ids.js';

const ids = new SealedIds({ authSecret: 'a secret of some length' });

describe('SealedIds', () => {
  it('opens what it sealed, for the same list and secret only', () => {
    fc.assert(
      fc.property(fc.uuid(), fc.string(), (id, list) => {
        const sealed = ids.seal(id, list);
        expect(ids.open(sealed, list)).toBe(id);
        expect(ids.open(sealed, `${list}.`)).not.toBe(id);
        expect(new SealedIds({ authSecret: 'another secret' }).open(sealed, list)).not.toBe(id);
        expect(Buffer.from(sealed, 'base64url').toString('hex')).not.toContain(id.slice(0, 8));
      }),
    );
  });

  it('gives null for what is no sealed id', () => {
    for (const text of ['', 'short', '*'.repeat(22), `${ids.seal('018f0000-0000-7000-8000-000000000000', 'a')}A`])
      expect(ids.open(text, 'a')).toBeNull();
  });
});

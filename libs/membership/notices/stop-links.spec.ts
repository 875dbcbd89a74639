import { describe, expect, it } from '@jest/globals';
import { StopLinks, type StopScope } from './stop-links.js';

const ACCOUNT = '0197a3c2-7b1e-7f00-8a10-0123456789ab';
const OTHER = '0197a3c2-7b1e-7f00-8a10-0123456789ac';
const links = new StopLinks({ authSecret: 'a'.repeat(32), publicUrl: 'https://kithbook.example' });
const scope: StopScope = { accountId: ACCOUNT, stops: 'transfers' };

describe('the link that ends mails', () => {
  it('is read as what it was made for', () => {
    expect(links.read(links.codeFor(scope))).toEqual(scope);
    expect(links.read(links.codeFor({ accountId: ACCOUNT, stops: 'digest' }))?.stops).toBe('digest');
    expect(links.linkFor(scope)).toBe(`https://kithbook.example/mails/stop/${links.codeFor(scope)}`);
    expect(links.codeFor(scope)).toMatch(/^[\w.-]+$/);
  });

  it('is good for no other group, account or registry', () => {
    const [account = '', , seal = ''] = links.codeFor(scope).split('.');
    const [other = ''] = links.codeFor({ accountId: OTHER, stops: 'transfers' }).split('.');
    expect(links.read(`${account}.documents.${seal}`)).toBeNull();
    expect(links.read(`${other}.transfers.${seal}`)).toBeNull();
    expect(links.read(`${account}.transfers.${seal}.more`)).toBeNull();
    expect(links.read(`${account}.transfers.${seal.slice(0, -2)}`)).toBeNull();
    expect(links.read('')).toBeNull();
    const elsewhere = new StopLinks({ authSecret: 'b'.repeat(32), publicUrl: 'https://kithbook.example' });
    expect(elsewhere.read(links.codeFor(scope))).toBeNull();
  });
});

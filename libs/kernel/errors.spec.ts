import { describe, expect, it } from '@jest/globals';
import {
  busy,
  DomainError,
  forbidden,
  invalidInput,
  notFound,
  rateLimited,
  ruleRefused,
  staleVersion,
  unauthenticated,
  unavailable,
} from './errors.js';

describe('errors', () => {
  it('gives each factory its code', () => {
    expect(unauthenticated().code).toBe('UNAUTHENTICATED');
    expect(forbidden('Only a coordinator may do this.').code).toBe('FORBIDDEN');
    expect(notFound('animal').code).toBe('NOT_FOUND');
    expect(busy().code).toBe('BUSY');
    expect(unavailable('The mail service').code).toBe('UNAVAILABLE');
    expect(rateLimited(1).code).toBe('RATE_LIMITED');
    expect(staleVersion('transfer').code).toBe('STALE_VERSION');
  });

  it('is an Error with empty lists where nothing applies', () => {
    const error = busy();
    expect(error).toBeInstanceOf(Error);
    expect(error).toBeInstanceOf(DomainError);
    expect(error.name).toBe('DomainError');
    expect([error.rule, error.fields, error.blockers]).toEqual([undefined, [], []]);
  });

  it('has one text per kind of missing thing', () => {
    expect(notFound('animal').message).toBe('No animal with this id is visible to you.');
    expect(notFound('clutch').message).toBe('No clutch with this id is visible to you.');
  });

  it('lists all field problems', () => {
    const one = { path: 'input.born', message: 'There is no month 13.', remedy: 'Write 2021-12.' };
    const two = { path: 'input.name', message: 'The name is empty.', remedy: 'Write a name.' };
    expect(invalidInput([one]).message).toBe('There is no month 13.');
    expect(invalidInput([one, two]).message).toBe('2 fields need correction.');
    expect(invalidInput([one, two]).fields).toEqual([one, two]);
    expect(() => invalidInput([])).toThrow(RangeError);
  });

  it('carries a refusal over', () => {
    const blockers = [{ kind: 'transfer', id: 't1', remedy: 'Withdraw it.' }];
    const error = ruleRefused({ rule: 'IN_TRANSFER', message: 'A transfer is open.', blockers });
    expect(error).toMatchObject({
      code: 'RULE_REFUSED',
      rule: 'IN_TRANSFER',
      message: 'A transfer is open.',
      blockers,
    });
    expect(error.fields).toEqual([]);
  });

  it('names the versions where known', () => {
    expect(staleVersion('loan', { expected: 3, current: 5 }).message).toContain('you read version 3, it is now at 5');
    expect(staleVersion('loan').message).not.toContain('version');
  });
});

import { describe, expect, it } from '@jest/globals';
import { statementNames } from './statement-names.js';

const asked = (
  name: ReturnType<typeof statementNames>,
  sql: string,
  args: readonly unknown[],
  times: number,
): string[] => Array.from({ length: times }, () => name({ sql, args }));

describe('the names of statements', () => {
  it('prepares a text from the tenth time on, under a name no other text has', () => {
    const name = statementNames();
    expect(asked(name, 'SELECT $1', [1], 9)).toEqual(Array(9).fill(''));
    const [first, ...more] = asked(name, 'SELECT $1', [2], 3);
    expect(first).not.toBe('');
    expect(new Set(more)).toEqual(new Set([first]));
    const other = asked(name, 'SELECT $1, 2', [1], 10).at(-1);
    expect(other).not.toBe('');
    expect(other).not.toBe(first);
  });

  it('prepares nothing without parameters, and nothing for a list longer than a page', () => {
    const name = statementNames();
    expect(asked(name, 'BEGIN', [], 20).at(-1)).toBe('');
    asked(name, 'SELECT $1', [['a']], 20);
    expect(name({ sql: 'SELECT $1', args: [Array(100).fill('a')] })).not.toBe('');
    expect(name({ sql: 'SELECT $1', args: [Array(101).fill('a')] })).toBe('');
  });

  it('prepares no more than 250 texts, and goes on with those', () => {
    const name = statementNames();
    const made = Array.from({ length: 300 }, (_, i) => asked(name, `SELECT $1, ${i}`, [1], 10).at(-1) ?? '');
    expect(new Set(made.filter((each) => each !== '')).size).toBe(250);
    expect(name({ sql: 'SELECT $1, 0', args: [1] })).toBe(made[0]);
    expect(name({ sql: 'SELECT $1, 299', args: [1] })).toBe('');
  });

  it('forgets what it counted when too many texts were seen once', () => {
    const name = statementNames();
    asked(name, 'SELECT $1', [1], 9);
    for (let i = 0; i < 2_000; i++) name({ sql: `SELECT $1, ${i}`, args: [1] });
    expect(name({ sql: 'SELECT $1', args: [1] })).toBe('');
  });
});

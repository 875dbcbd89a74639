import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from '@jest/globals';

const root = join(import.meta.dirname, '..', '..');
const read = (file: string): string => readFileSync(join(root, file), 'utf8');

/** Names in the code that look like rules and are none: error codes, Apollo's codes, warnings. */
const NO_RULES =
  /^(UNAUTHENTICATED|NOT_FOUND|INVALID_INPUT|RULE_REFUSED|STALE_VERSION|RATE_LIMITED|GRAPHQL_.*|BAD_.*|PERSISTED_.*|OPERATION_RESOLUTION_FAILURE|BUG_IF_HIT|LOG_LEVEL)$/;

it('every rule has an entry in the API guide, and every entry a rule', () => {
  const sources = readdirSync(join(root, 'libs'), { recursive: true, encoding: 'utf8' }).filter(
    (file) => file.endsWith('.ts') && !file.endsWith('.spec.ts'),
  );
  const named = new Set(
    sources.flatMap((file) =>
      [...read(join('libs', file)).matchAll(/'([A-Z]{2,}(?:_[A-Z0-9]+)+)'/g)].map(([, name]) => name ?? ''),
    ),
  );
  const pages = readdirSync(join(root, 'docs', 'api')).map((file) => join('docs', 'api', file));
  const guide = ['docs/api-guide.md', ...pages].map(read).join('\n');
  const entries = new Set([...guide.matchAll(/`([A-Z]{2,}(?:_[A-Z0-9]+)+)`/g)].map(([, name]) => name ?? ''));
  const rules = [...named].filter((name) => !NO_RULES.test(name));
  expect(rules.length).toBeGreaterThan(50);
  expect(rules.filter((name) => !entries.has(name))).toEqual([]);
  expect([...entries].filter((name) => !named.has(name))).toEqual([]);
});

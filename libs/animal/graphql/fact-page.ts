import { type ConnectionOf, type PageArgs, toConnection, toPage } from '../../platform/graphql/index.js';
import { invalidInput } from '../../kernel/index.js';

/** A page of facts, last recorded first; the facts come in the order they were recorded. Throws INVALID_INPUT. */
export function newestFirst<F extends { readonly id: string }, T>(
  facts: readonly F[],
  args: PageArgs,
  toNode: (fact: F) => T,
): ConnectionOf<T> {
  const page = toPage(args, 1);
  const newest = facts.toReversed();
  const after = page.after?.[0];
  const start = after === undefined ? 0 : newest.findIndex((fact) => fact.id === after) + 1;
  if (after !== undefined && start === 0)
    throw invalidInput([
      {
        path: 'after',
        message: 'This is not a cursor of this list.',
        remedy: 'Use `endCursor` of the page before, or leave it out.',
      },
    ]);
  return toConnection(newest.slice(start, start + page.first + 1), page.first, (fact) => [fact.id], toNode);
}

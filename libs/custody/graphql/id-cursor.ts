import { invalidInput, isId } from '../../kernel/index.js';

/** The id a page goes on after, of a list in the order of ids. Throws INVALID_INPUT for a cursor of another list. */
export function idAfter(after: readonly string[] | null): string | null {
  const id = after?.[0] ?? null;
  if (id === null || isId(id)) return id;
  throw invalidInput([
    {
      path: 'after',
      message: 'This is not a cursor of this list.',
      remedy: 'Use `endCursor` of the page before, or leave it out.',
    },
  ]);
}

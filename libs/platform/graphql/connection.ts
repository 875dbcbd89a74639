import { type Type } from '@nestjs/common';
import { ArgsType, Field, Int, ObjectType } from '@nestjs/graphql';
import { z } from 'zod';
import { decodeCursor, type DomainError, encodeCursor, invalidInput, isId, parseDay } from '../../kernel/index.js';

/** Largest page of any list. */
export const MAX_PAGE = 100;
const DEFAULT_PAGE = 20;

/** A page of a list: how many, and after which. */
export type Page = { readonly first: number; readonly after: readonly string[] | null };

@ArgsType()
export class PageArgs {
  @Field(() => Int, {
    nullable: true,
    description: `How many at most: 1 to ${MAX_PAGE}, ${DEFAULT_PAGE} when left out.`,
  })
  first?: number | null;

  @Field(() => String, { nullable: true, description: 'The `endCursor` of the page before.' })
  after?: string | null;
}

/** Reads page arguments; `parts` is how many values the list's cursor holds. Throws INVALID_INPUT. */
export function toPage(args: PageArgs, parts: number): Page {
  const first = args.first ?? DEFAULT_PAGE;
  if (first < 1 || first > MAX_PAGE) {
    throw invalidInput([
      { path: 'first', message: `A page holds 1 to ${MAX_PAGE}.`, remedy: 'Ask for fewer and follow `endCursor`.' },
    ]);
  }
  if (args.after === null || args.after === undefined) return { first, after: null };
  const after = decodeCursor(args.after);
  if (after === null || after.length !== parts) {
    throw foreignCursor();
  }
  return { first, after };
}

/** INVALID_INPUT for a cursor that another list, or nobody, has given. */
export function foreignCursor(): DomainError {
  return invalidInput([
    {
      path: 'after',
      message: 'This is not a cursor of this list.',
      remedy: 'Use `endCursor` of the page before, or leave it out.',
    },
  ]);
}

/** The id a page goes on after, of a list in the order of ids. Throws INVALID_INPUT for a cursor of another list. */
export function idAfter(after: Page['after']): string | null {
  const id = after?.[0] ?? null;
  if (id === null || isId(id)) return id;
  throw foreignCursor();
}

/** Values of the cursor of a list in order of time: a moment that the database knows too (there is no year 0000), and an id. */
const momentCursor = z.tuple([z.iso.datetime().refine((text) => parseDay(text.slice(0, 10)) !== null), z.uuid()]);

/** The moment and the id a page goes on after, of a list in order of time. Throws INVALID_INPUT for a cursor of another list. */
export function momentAfter(after: Page['after']): { readonly at: Date; readonly id: string } | null {
  if (after === null) return null;
  const key = momentCursor.safeParse(after);
  if (!key.success) throw foreignCursor();
  return { at: new Date(key.data[0]), id: key.data[1] };
}

@ObjectType()
export class PageInfo {
  @Field(() => Boolean)
  hasNextPage!: boolean;

  @Field(() => String, { nullable: true })
  endCursor!: string | null;
}

/** Shape of a Relay connection. */
export type ConnectionOf<T> = { edges: { cursor: string; node: T }[]; pageInfo: PageInfo };

/** Makes the GraphQL types `<Name>Connection` and `<Name>Edge` for a node type. Call once a node type. */
export function Connection<T extends object>(node: Type<T>, name: string): Type<ConnectionOf<T>> {
  @ObjectType(`${name}Edge`)
  class Edge {
    @Field(() => String)
    cursor!: string;

    @Field(() => node)
    node!: T;
  }

  @ObjectType(`${name}Connection`)
  class NodeConnection {
    @Field(() => [Edge])
    edges!: Edge[];

    @Field(() => PageInfo)
    pageInfo!: PageInfo;
  }
  return NodeConnection;
}

/** Builds a connection from rows fetched with a limit of `first + 1`: the extra row only tells that there is a next page. */
export function toConnection<R, T>(
  rows: readonly R[],
  first: number,
  cursorOf: (row: R) => string[],
  toNode: (row: R) => T,
): ConnectionOf<T> {
  const edges = rows.slice(0, first).map((row) => ({ cursor: encodeCursor(cursorOf(row)), node: toNode(row) }));
  return { edges, pageInfo: { hasNextPage: rows.length > first, endCursor: edges.at(-1)?.cursor ?? null } };
}

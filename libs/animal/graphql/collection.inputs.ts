import { Field, InputType, registerEnumType } from '@nestjs/graphql';
import { type Day, type FieldProblem, invalidInput, isId, parseDay } from '../../kernel/index.js';
import { DayType } from '../../platform/graphql/index.js';
import { type AnimalView } from '../core/animal-view.core.js';
import { type BornWithin, type CollectionPlace, UNKNOWN_LAST } from '../store/animal-read.store.js';

export enum DayMatchType {
  certain = 'certain',
  possible = 'possible',
}
registerEnumType(DayMatchType, {
  name: 'DayMatch',
  description: 'How surely an uncertain day has to fit.',
  valuesMap: {
    certain: { description: 'Every day it can be fits.' },
    possible: { description: 'Some day it can be fits; a day of which nothing is known can be any.' },
  },
});

export enum CollectionOrderType {
  registered = 'registered',
  born = 'born',
}
registerEnumType(CollectionOrderType, {
  name: 'CollectionOrder',
  valuesMap: {
    registered: { description: 'The first registered first.' },
    born: { description: 'By the earliest day each can have been born; last where no earliest day is known.' },
  },
});

@InputType({ description: 'Which of the animals; what is left out lets all through.' })
export class CollectionFilterInput {
  @Field(() => DayType, { nullable: true, description: 'Born on this day or later.' })
  bornFrom?: Day | null;

  @Field(() => DayType, { nullable: true, description: 'Born on this day or earlier.' })
  bornTo?: Day | null;

  @Field(() => DayMatchType, {
    nullable: true,
    description: 'Whether it surely or possibly was born within these days; possibly when left out.',
  })
  match?: DayMatchType | null;
}

/** Reads the filter of a collection. Throws INVALID_INPUT where its days cannot be meant. */
export function readFilter(filter: CollectionFilterInput | null): BornWithin {
  const [from, to, match] = [filter?.bornFrom ?? null, filter?.bornTo ?? null, filter?.match ?? null];
  const problems: FieldProblem[] = [];
  if (from !== null && to !== null && to < from)
    problems.push({
      path: 'filter.bornTo',
      message: 'The last day lies before the first.',
      remedy: 'Exchange them, or leave one of them out.',
    });
  if (match !== null && from === null && to === null)
    problems.push({
      path: 'filter.match',
      message: 'There is no day to fit.',
      remedy: 'Give bornFrom or bornTo, or leave match out.',
    });
  if (problems.length > 0) throw invalidInput(problems);
  return { from, to, match: match ?? 'possible' };
}

/** How many values the cursor of each order holds. */
export const CURSOR_PARTS: Readonly<Record<CollectionOrderType, number>> = { registered: 1, born: 3 };

/** The cursor of an animal; that of an order by birth names it, so that it fits no other list. */
export function cursorOf(view: AnimalView, order: CollectionOrderType): string[] {
  return order === CollectionOrderType.born
    ? [order, view.record?.birth?.earliest ?? UNKNOWN_LAST, view.id]
    : [view.id];
}

/** The place a page goes on after; null at the start. Throws INVALID_INPUT for a cursor of another list or order. */
export function placeAfter(after: readonly string[] | null, order: CollectionOrderType): CollectionPlace | null {
  if (after === null) return null;
  const [name, born, id = ''] = order === CollectionOrderType.born ? after : [order, UNKNOWN_LAST, after[0]];
  if (name === String(order) && isId(id) && born !== undefined && (born === UNKNOWN_LAST || parseDay(born) !== null))
    return { born, id };
  throw invalidInput([
    {
      path: 'after',
      message: 'This is not a cursor of this list in this order.',
      remedy: 'Use `endCursor` of the page before with the same order, or leave it out.',
    },
  ]);
}

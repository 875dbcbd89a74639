import type { KinshipTie } from './gather-ties.js';
import type { KinshipTies } from './kinship-ties.js';

/** Sexes of the two animals where they are to be told; left out or null, words fit either sex. */
export interface SexesTold {
  readonly a?: 'male' | 'female' | null;
  readonly b?: 'male' | 'female' | null;
}

/** How two animals are related, in words. */
export interface RelationshipWords {
  /**
   * All of it, the closest ties first: "half siblings through the dam, and first cousins". Where the two have different
   * parts the one of a comes first: "grandparent and grandchild".
   */
  readonly phrase: string;
  /** What a is to b, and b to a, by their closest tie: "grandparent", "grandchild". Null without a known tie. */
  readonly a: string | null;
  readonly b: string | null;
}

/** So many kinds of ties are named; the others are counted. */
const MOST_NAMED = 3;

/**
 * Puts ties into words of the trade and of genealogy, from {@link KinshipTies}. Degrees of cousins count from 1, "once
 * removed" is a generation of difference, "double" two ties of the same kind, "half" one shared ancestor where two would be
 * usual, "possibly" a tie that rests on candidate parents.
 */
export function relationshipWords({ ties, rest }: KinshipTies, sexes: SexesTold = {}): RelationshipWords {
  const [closest] = ties;
  if (!closest)
    return {
      phrase: rest > 0 ? 'related through distant ancestors only' : 'no shared ancestor known',
      a: null,
      b: null,
    };
  const kinds = new Map<string, { named: Named; count: number }>();
  for (const tie of ties) {
    const named = nameOf(tie, sexes);
    const kind = kinds.get(named.together);
    if (kind) kind.count++;
    else kinds.set(named.together, { named, count: 1 });
  }
  const all = [...kinds.values()];
  const phrases = all.slice(0, MOST_NAMED).map(({ named, count }) => times(named, count));
  const others = all.slice(MOST_NAMED).reduce((sum, { count }) => sum + count, 0);
  const tail = moreTies(others, rest > 0);
  const { a, b } = nameOf(closest, sexes);
  return { phrase: listed(tail === null ? phrases : [...phrases, tail]), a, b };
}

interface Named {
  /** What a is, what b is, and both together. */
  readonly a: string;
  readonly b: string;
  readonly together: string;
  readonly isCousins?: boolean;
}

function nameOf(tie: KinshipTie, sexes: SexesTold): Named {
  if (tie.full || tie.fullProbability === 0) return perhaps(tie, certainName(tie, tie.full, sexes));
  const half = certainName(tie, false, sexes);
  const full = certainName(tie, true, sexes);
  return perhaps(tie, { ...half, together: `${half.together} (or ${full.together})` });
}

function perhaps(tie: KinshipTie, named: Named): Named {
  if (tie.probability >= 1 - 1e-9) return named;
  return { ...named, a: `possibly ${named.a}`, b: `possibly ${named.b}`, together: `possibly ${named.together}` };
}

function certainName(tie: KinshipTie, full: boolean, sexes: SexesTold): Named {
  const { kind, generationsA, generationsB } = tie;
  if (kind === 'same') return { a: 'the same animal', b: 'the same animal', together: 'the same animal' };
  const [nearer, farther] = [Math.min(generationsA, generationsB), Math.max(generationsA, generationsB)];
  if (nearer === 1 && farther === 1) return siblings(tie, full, sexes);
  if (nearer >= 2) return cousins(nearer - 1, farther - nearer, full);
  const older = kind === 'descent' ? ANCESTOR : AUNT;
  const younger = kind === 'descent' ? DESCENDANT : NIECE;
  const greats = farther - 2;
  const halved = kind === 'descent' || full ? '' : 'half-';
  const elder = generationsA < generationsB ? 'a' : 'b';
  const a = role(elder === 'a' ? older : younger, greats, halved, sexes.a);
  const b = role(elder === 'b' ? older : younger, greats, halved, sexes.b);
  return { a, b, together: `${a} and ${b}` };
}

/** Words for the next generation, and from the one after it on; male, female, either. */
type Words = { readonly near: readonly [string, string, string]; readonly far: readonly [string, string, string] };

const ANCESTOR: Words = { near: ['sire', 'dam', 'parent'], far: ['grandsire', 'granddam', 'grandparent'] };
const DESCENDANT: Words = { near: ['son', 'daughter', 'offspring'], far: ['grandson', 'granddaughter', 'grandchild'] };
const AUNT: Words = { near: ['', '', ''], far: ['uncle', 'aunt', 'aunt or uncle'] };
const NIECE: Words = { near: ['', '', ''], far: ['nephew', 'niece', 'niece or nephew'] };

function role(words: Words, greats: number, halved: string, sex: 'male' | 'female' | null | undefined): string {
  const at = sex === 'male' ? 0 : sex === 'female' ? 1 : 2;
  if (greats < 0) return words.near[at];
  const great = greats > 2 ? `${greats}-times-great-` : 'great-'.repeat(greats);
  return words.far[at]
    .split(' or ')
    .map((word) => `${great}${halved}${word}`)
    .join(' or ');
}

function siblings(tie: KinshipTie, full: boolean, { a, b }: SexesTold): Named {
  const word = (sex: 'male' | 'female' | null | undefined): string =>
    sex === 'male' ? 'brother' : sex === 'female' ? 'sister' : 'sibling';
  const kind = full ? 'full' : 'half';
  const through = full || tie.sharedParent === null ? '' : ` through the ${tie.sharedParent}`;
  return {
    a: `${kind} ${word(a)}${through}`,
    b: `${kind} ${word(b)}${through}`,
    together: `${kind} ${a === b ? word(a) : 'sibling'}s${through}`,
  };
}

const ORDINALS = ['first', 'second', 'third', 'fourth', 'fifth', 'sixth', 'seventh', 'eighth', 'ninth', 'tenth'];

function cousins(degree: number, removed: number, full: boolean): Named {
  const ordinal = ORDINALS[degree - 1] ?? `${degree}th`;
  const apart =
    removed === 0 ? '' : ` ${removed === 1 ? 'once' : removed === 2 ? 'twice' : `${removed} times`} removed`;
  const one = `${full ? '' : 'half '}${ordinal} cousin`;
  return { a: `${one}${apart}`, b: `${one}${apart}`, together: `${one}s${apart}`, isCousins: true };
}

function times({ together, isCousins }: Named, count: number): string {
  if (count === 1) return together;
  if (isCousins && !together.startsWith('possibly')) return `${count === 2 ? 'double' : `${count}-fold`} ${together}`;
  return `${together} ${count === 2 ? 'twice' : `${count} times`} over`;
}

function moreTies(others: number, isOpen: boolean): string | null {
  if (others === 0) return isOpen ? 'more distant ties' : null;
  const ties = others === 1 ? 'tie' : 'ties';
  return isOpen ? `more than ${others} more distant ${ties}` : `${others} more distant ${ties}`;
}

function listed(parts: readonly string[]): string {
  const last = parts.at(-1) ?? '';
  return parts.length < 2 ? last : `${parts.slice(0, -1).join(', ')}, and ${last}`;
}

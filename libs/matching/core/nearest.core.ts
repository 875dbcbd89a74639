import { formatRegisterNumber, type RegisterNumber } from '../../kernel/index.js';
import { type MateFilters } from './mate-filters.core.js';
import { type MateAnswer, type Miss, MISSES } from './search-mates.core.js';

/** Why there is no mate, from the viewer's side: what keeps how many out, and what can be done. */
export type NearestReason = { readonly because: Miss | 'nobody'; readonly count: number; readonly words: string };

/** The reasons where a search found nobody; empty where it found somebody. Counts only animals the viewer sees. */
export function nearestReasons(answer: MateAnswer, filters: MateFilters): NearestReason[] {
  if (answer.total > 0) return [];
  const reasons = MISSES.flatMap((because): NearestReason[] => {
    const count = answer.failing[because];
    return count === 0 ? [] : [{ because, count, words: wordsOf(because, count, answer, filters) }];
  });
  if (reasons.length > 0) return reasons;
  return [
    {
      because: 'nobody',
      count: 0,
      words:
        'No collection that shares with you has a living animal of this taxon that could be a mate. Say that your own is open for breeding, so that others find it, and ask your club.',
    },
  ];
}

function wordsOf(because: Miss, count: number, { leastRelated }: MateAnswer, filters: MateFilters): string {
  const animals = count === 1 ? '1 animal' : `${count} animals`;
  const [is, has] = count === 1 ? ['is', 'has'] : ['are', 'have'];
  switch (because) {
    case 'other_line':
      return `${animals} ${is} of another line. Set otherLines to see them; lines are kept apart for a reason, so ask before you cross them.`;
    case 'not_available':
      return `${animals} ${is} in quarantine or promised elsewhere. Ask again later.`;
    case 'not_grown_up':
      return `${animals} ${is} not grown up on ${filters.on}. Set includeYoung, or name a later day.`;
    case 'sex_unknown':
      return `${animals} ${is} of unknown sex. Leave sexKnownOnly out to see them.`;
    case 'not_open':
      return `${animals} ${is} not called open for breeding. Leave onlyAvailable out and ask the holders through the registry.`;
    case 'too_related':
      return leastRelated === null
        ? `${animals} ${is} related more closely than ${filters.maxKinship}.`
        : `${animals} ${is} related more closely than ${filters.maxKinship}. The least related is ${formatRegisterNumber(leastRelated.registerNumber as RegisterNumber)} at ${Number(leastRelated.kinship.toFixed(6))}; raise maxKinship to see it.`;
    case 'too_little_known':
      return `Of ${animals} less of the offspring’s ancestry would be known than ${filters.minKnownAncestry}. Lower minKnownAncestry to see them.`;
    case 'too_far':
      return `${animals} ${has} holders outside the distances kept, or holders who do not show where they are. Keep more distances to see them.`;
  }
}

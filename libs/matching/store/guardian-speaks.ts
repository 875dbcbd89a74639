import { type DomainError, ruleRefused, speaksFor, type Viewer } from '../../kernel/index.js';
import { mayTakePart } from '../../membership/index.js';

/** What somebody reads who acts for a minor's keeper and asks for its threads, which are its guardian's. */
export function guardianSpeaks(): DomainError {
  const refused = mayTakePart('thread', { minor: true, guarded: true }, undefined);
  if (refused.ok) throw new Error('A thread of a minor’s keeper is its guardian’s.');
  return ruleRefused(refused.refusal);
}

/** The keepers for which the viewer reads threads. Throws RULE_REFUSED GUARDIAN_SPEAKS for one who acts for minors' keepers alone. */
export function speakingKeepers(viewer: Viewer): string[] {
  const ids = viewer.keepers.map(({ keeperId }) => keeperId).filter((keeperId) => speaksFor(viewer, keeperId));
  if (ids.length === 0 && viewer.keepers.length > 0) throw guardianSpeaks();
  return ids;
}

import { followMerges } from '../../custody/index.js';
import { decide, type Decision, refuse } from '../../kernel/index.js';
import { clutchesUnpicked } from './split.store.js';

/**
 * One of the young that waits to be picked becomes one record only with one of the same clutch, which is then counted once: else it
 * would leave the split, or bring into it what was both sides' already.
 */
followMerges({
  async merging(tx, { keepId, mergeId }): Promise<Decision<null>> {
    const clutches = await clutchesUnpicked(tx, [keepId, mergeId]);
    if (clutches.get(keepId) === clutches.get(mergeId)) return decide(null);
    const remedy = 'Pick it first.';
    const message =
      'One of the two is of the young of a loan that nobody has picked, and the other is not of its clutch.';
    return refuse('MERGE_LOAN_YOUNG', `${message} ${remedy}`, {
      blockers: [{ kind: 'animal', id: clutches.has(keepId) ? keepId : mergeId, remedy }],
    });
  },
});

import { followMerges } from '../../custody/index.js';
import { decide } from '../../kernel/index.js';
import { leaveAsMerged, resumeStay } from '../store/quarantine-write.store.js';

/**
 * The animal stays in quarantine under the record that is kept, which is in the same group: another group was refused before. Its other
 * record leaves; the clock runs on.
 */
followMerges({
  async merging(tx, { mergeId, on }) {
    await leaveAsMerged(tx, mergeId, on);
    return decide(null);
  },
  async unmerged(tx, { mergedId }) {
    await resumeStay(tx, mergedId);
  },
});

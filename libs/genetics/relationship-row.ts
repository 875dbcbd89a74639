import { ancestorWalk } from './ancestor-walk.js';

/**
 * A walk is tried up to this share of the arrays: running straight through them costs a fraction, an animal, of walking
 * from parent to parent, and a walk that was given up is lost work (32 measured best of 4 … 64 over real pedigrees).
 */
const WALK_SHARE = 1 / 32;

/** The relationship of one parent with its mates, one parent after another in the same memory. */
export interface RelationshipRow {
  /** A between the parent last filled in and each of its mates, by slot. */
  readonly value: Float64Array;
  /** Computes the row of a parent for the given mates; those that are the parent itself are left out. */
  fill(parent: number, mates: Int32Array): void;
  /** Makes ready for the next parent, at no more than the cost of what was written. */
  clear(): void;
}

/**
 * Two passes over the ancestors concerned (Colleau 2002): up, w = Tᵀe_p over the ancestors of the parent p; down,
 * A_pj = ½(A_p,sire + A_p,dam) + D_j·w_j over the ancestors of its mates. Each pass walks from parent to parent where
 * the ancestors are few and runs straight through the arrays where they are many.
 *
 * @param sire,dam slots with parents before children, 0 = unknown
 * @param sampling D by slot; those of p and its ancestors must be there when `fill` is called
 */
export function relationshipRow(sire: Int32Array, dam: Int32Array, sampling: Float64Array): RelationshipRow {
  const w = new Float64Array(sire.length);
  const value = new Float64Array(sire.length);
  const above = ancestorWalk(sire, dam);
  const beside = ancestorWalk(sire, dam);
  let oldest = 0; // the lowest slot among the ancestors of p: below it nobody is related to p
  let parentSlot = 0;
  let youngest = 0;
  let fewAbove = true;
  let fewBeside = true;

  const passUp = (): void => {
    oldest = parentSlot;
    w[parentSlot] = 1;
    above.begin(parentSlot * WALK_SHARE + 1, 1);
    fewAbove = above.add(parentSlot);
    const last = fewAbove ? 0 : 1;
    for (let k = fewAbove ? above.size() - 1 : parentSlot; k >= last; k--) {
      const slot = fewAbove ? (above.found[k] as number) : k;
      const held = w[slot] as number;
      if (held === 0) continue;
      const s = sire[slot] as number;
      const d = dam[slot] as number;
      w[s] = (w[s] as number) + 0.5 * held;
      w[d] = (w[d] as number) + 0.5 * held;
      w[slot] = held * (sampling[slot] as number);
      if (slot < oldest) oldest = slot;
    }
  };

  const passDown = (mates: Int32Array): void => {
    beside.begin((youngest - oldest) * WALK_SHARE + 1, oldest);
    fewBeside = true;
    for (let k = 0; fewBeside && k < mates.length; k++) fewBeside = beside.add(mates[k] as number);
    const last = fewBeside ? beside.size() - 1 : youngest;
    for (let k = fewBeside ? 0 : oldest; k <= last; k++) {
      const slot = fewBeside ? (beside.found[k] as number) : k;
      const fromParents = (value[sire[slot] as number] as number) + (value[dam[slot] as number] as number);
      value[slot] = 0.5 * fromParents + (w[slot] as number);
    }
  };

  return {
    value,
    fill(parent, mates) {
      parentSlot = parent;
      youngest = 0;
      for (const mate of mates) if (mate !== parent && mate > youngest) youngest = mate;
      if (youngest === 0) return;
      passUp();
      passDown(mates);
    },
    clear() {
      if (youngest === 0) return;
      if (fewAbove) for (let k = 0; k < above.size(); k++) w[above.found[k] as number] = 0;
      else w.fill(0, oldest, parentSlot + 1);
      if (fewBeside) for (let k = 0; k < beside.size(); k++) value[beside.found[k] as number] = 0;
      else value.fill(0, oldest, youngest + 1);
    },
  };
}

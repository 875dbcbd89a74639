import {
  accessLevel,
  type AccessFact,
  type Audience,
  fieldsShown,
  resolveSharing,
  showsHolder,
} from '../../libs/access/index.js';
import { OPEN_OFFERS, type SharingCell } from './sharing-cells.js';

const open = (relation: AccessFact['relation']): AccessFact => ({ relation, closed: false, readsUntil: null });
const over = (relation: AccessFact['relation']): AccessFact => ({ relation, closed: true, readsUntil: new Date(0) });

/** What the observer's keeper is to the animal, as the policy is told it. */
function factsOf({ role, tie, state }: SharingCell): readonly AccessFact[] {
  const gone = state === 'outside';
  if (role === 'left') return [];
  switch (tie) {
    case 'keeper':
      return gone ? [over('holder'), over('owner')] : [open('holder'), open('owner')];
    case 'borrower':
      return [open('holder')];
    case 'lender':
    case 'co_owner':
      return [over('holder'), open('owner')];
    case 'past':
      return [over('holder'), over('owner')];
    case 'past_borrower':
      return [over('holder')];
    case 'receiver':
      return [{ ...open('receiver'), closed: !OPEN_OFFERS.includes(state) }];
    case 'guest':
      return [{ ...open('guest'), closed: gone }];
    case 'guest_ended':
    case 'guest_lapsed':
      return [{ ...open('guest'), closed: true }];
    default:
      return [];
  }
}

const audience = (value: string): Audience | null =>
  value === 'none' || value === 'unset' ? null : (value as Audience);

/** What the pure policy says of a cell: the level, and the groups of fields with whoever has the animal. */
export function policyOf(cell: SharingCell) {
  const { role, club, state, tie } = cell;
  const clubMates = role !== 'left' && club === 'mates';
  const sharing = resolveSharing(
    { holdings: cell.everything, lineageWithheld: cell.everythingLineage === 'withheld' },
    { holdings: audience(cell.collection), lineageWithheld: cell.collectionLineage === 'withheld' },
    { holdings: audience(cell.animal), lineageWithheld: cell.animalLineage === 'withheld' },
  );
  const sharedInClub = clubMates && state !== 'outside' && sharing.lineageShared;
  const { level } = accessLevel({ own: factsOf(cell), sharedInClub });
  const fields = fieldsShown(level);
  const somebodyHasIt = !['dead', 'merged', 'outside'].includes(state);
  const aKeeperHasIt = somebodyHasIt && state !== 'missing' && state !== 'left_registry';
  const otherParty = level === 'offered' || (role !== 'left' && tie === 'asker');
  const told = aKeeperHasIt && showsHolder(sharing.holdings, { clubMates, otherParty });
  return {
    level,
    identity: fields.lineage,
    record: fields.record,
    workings: fields.papers,
    holder: (fields.holder && somebodyHasIt) || (fields.holderIfShown && told),
    quarantine: fields.health && state === 'quarantine',
  };
}

/** From pairing to hatchling: matings, clutches, eggs one by one, young with their possible parents. They go with the record of the animal they are about. */
export { CorrectBreedingFact, type CorrectBreedingFactCommand } from './app/correct-breeding-fact.js';
export { CorrectEggEvent, type CorrectEggEventCommand } from './app/correct-egg-event.js';
export { type HatchlingsCommand, type NamedParent, type Youngling } from './app/hatchlings-command.js';
export { MoveFamily, type MoveFamilyCommand } from './app/move-family.js';
export { type MovePairingCommand, PlanPairing, type PlanPairingCommand } from './app/plan-pairing.js';
export { type BreedersAt, ReadBreeders } from './app/read-breeders.js';
export { type EggsOfClutch, type EggsWanted, ReadEggRecords } from './app/read-egg-records.js';
export { type PaperClutch, ReadPaperEggs } from './app/read-paper-eggs.js';
export { likelySires } from './app/read-proposal.js';
export { RecordClutch, type RecordClutchCommand } from './app/record-clutch.js';
export { RecordEggEvents, type RecordEggEventsCommand } from './app/record-egg-events.js';
export { RecordHatching, type RecordHatchingCommand } from './app/record-hatching.js';
export { RecordHatchlings } from './app/record-hatchlings.js';
export { RecordMating, type RecordMatingCommand } from './app/record-mating.js';
export { BreedingModule } from './breeding.module.js';
export {
  type EggLanding,
  type EggNamed,
  type EggsAsked,
  landEggs,
  lockEggs,
  takeEggs,
} from './app/eggs-on-the-move.js';
export { type Family, familyIn } from './app/family-in.js';
export { type CorrectedClutch, followClutches } from './app/clutch-followers.js';
export { followYoung, type YoungOfClutch } from './app/young-followers.js';
export { type Breeder, keyOf } from './core/breeders.core.js';
export { reasonsForAll, TOLD_TO_ALL, type ToldBreeder } from './core/breeders-told.core.js';
export { EGG_STATES } from './core/egg.core.js';
export { type EggInHand } from './core/egg-holder.core.js';
export { ClutchType, toClutchType } from './graphql/clutch.types.js';
export { loadClutch } from './graphql/breeding.loaders.js';
export { BreedingReadStore } from './store/breeding-read.store.js';
export { endShares, refreshShares, shareBreeding, type ShareSubject } from './store/breeding-share.store.js';
export { findClutches } from './store/clutch.store.js';
export {
  claimEggs,
  clutchesThatMayHatch,
  readEggStates,
  findClutchesInHand,
  putOnWay,
  takeOffWay,
} from './store/egg-custody.store.js';

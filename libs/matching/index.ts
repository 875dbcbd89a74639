/** Finding mates in other people's rooms, saying what a pair would give, and asking holders who are not named. */
export { type SetAvailabilityCommand, SetBreedingAvailability } from './app/set-breeding-availability.js';
export { MatchingModule } from './matching.module.js';
export { deleteOldCandidateChanges } from './store/candidate.store.js';

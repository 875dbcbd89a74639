/** Finding mates in other people's rooms. */
export { MatchingModule } from './matching.module.js';

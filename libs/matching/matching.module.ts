import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { HealthModule } from '../health/index.js';
import { LineageModule } from '../lineage/index.js';
import { MembershipModule } from '../membership/index.js';
import { TaxonModule } from '../taxon/index.js';
import { AnswerThread } from './app/answer-thread.js';
import { AskHolder } from './app/ask-holder.js';
import { CandidatePool } from './app/candidate-pool.js';
import { CloseThread } from './app/close-thread.js';
import { FindMates } from './app/find-mates.js';
import { ForecastPair } from './app/forecast-pair.js';
import { MarkThreadRead } from './app/mark-thread-read.js';
import { SetBreedingAvailability } from './app/set-breeding-availability.js';
import { AvailabilityResolver } from './graphql/availability.resolver.js';
import { MateOptionsResolver } from './graphql/mate-options.resolver.js';
import { PairForecastResolver } from './graphql/pair-forecast.resolver.js';
import { ThreadLiveResolver } from './graphql/thread-live.resolver.js';
import { ThreadResolver } from './graphql/thread.resolver.js';
import { AvailabilityStore } from './store/availability.store.js';
import { CandidateStore } from './store/candidate.store.js';
import { ThreadReadStore } from './store/thread-read.store.js';

@Module({
  imports: [AnimalModule, HealthModule, LineageModule, MembershipModule, TaxonModule],
  providers: [
    AnswerThread,
    AskHolder,
    AvailabilityResolver,
    AvailabilityStore,
    CandidatePool,
    CandidateStore,
    CloseThread,
    FindMates,
    ForecastPair,
    MarkThreadRead,
    MateOptionsResolver,
    PairForecastResolver,
    SetBreedingAvailability,
    ThreadReadStore,
    ThreadLiveResolver,
    ThreadResolver,
  ],
})
export class MatchingModule {}

import { Module } from '@nestjs/common';
import { JoinQuarantine } from './app/join-quarantine.js';
import { OpenQuarantine } from './app/open-quarantine.js';
import { ReleaseQuarantine } from './app/release-quarantine.js';
import { AnimalQuarantineResolver } from './graphql/animal-quarantine.resolver.js';
import { QuarantineResolver } from './graphql/quarantine.resolver.js';
import { QuarantineReadStore } from './store/quarantine-read.store.js';

/** Quarantine as closed groups. Job handlers are in `HealthJobsModule`. */
@Module({
  providers: [
    AnimalQuarantineResolver,
    JoinQuarantine,
    OpenQuarantine,
    QuarantineReadStore,
    QuarantineResolver,
    ReleaseQuarantine,
  ],
  exports: [JoinQuarantine, OpenQuarantine, QuarantineReadStore, ReleaseQuarantine],
})
export class HealthModule {}

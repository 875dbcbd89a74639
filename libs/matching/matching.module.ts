import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { HealthModule } from '../health/index.js';
import { LineageModule } from '../lineage/index.js';
import { TaxonModule } from '../taxon/index.js';
import { FindMates } from './find-mates.js';
import { MatchingResolver } from './matching.resolver.js';
import { MateStore } from './mate.store.js';

@Module({
  imports: [AnimalModule, HealthModule, LineageModule, TaxonModule],
  providers: [FindMates, MatchingResolver, MateStore],
})
export class MatchingModule {}

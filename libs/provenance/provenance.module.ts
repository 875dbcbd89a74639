import { Module } from '@nestjs/common';
import { AnimalModule } from '../animal/index.js';
import { ReadOrigin } from './app/read-origin.js';
import { OriginResolver } from './graphql/origin.resolver.js';

@Module({ imports: [AnimalModule], providers: [OriginResolver, ReadOrigin] })
export class ProvenanceModule {}

import { Args, ID, Query, Resolver } from '@nestjs/graphql';
import { type Viewer } from '../../kernel/index.js';
import { Authorize, CurrentViewer } from '../../platform/graphql/index.js';
import { ExportOwn } from '../app/export-own.js';
import { ExportType } from './export.types.js';

@Resolver()
export class ExportResolver {
  constructor(private readonly exportOwn: ExportOwn) {}

  @Query(() => ExportType, {
    description:
      'What the registry holds of an own keeper, and of the account that asks, to keep or to take elsewhere. Files are named with their SHA-256 and where to fetch them.',
  })
  @Authorize('exchange.export-own')
  async exportMyData(
    @CurrentViewer() viewer: Viewer,
    @Args('keeperId', { type: () => ID }) keeperId: string,
  ): Promise<ExportType> {
    const document = await this.exportOwn.execute(viewer, keeperId);
    return {
      fileName: `kithbook-export-${document.exportedAt.slice(0, 10)}.json`,
      mediaType: 'application/json',
      json: JSON.stringify(document, null, 2),
    };
  }
}

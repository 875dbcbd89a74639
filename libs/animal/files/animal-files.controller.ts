import { Controller, Get, Param, Put, Query, Req, Res } from '@nestjs/common';
import { RouteConfig } from '@nestjs/platform-fastify';
import { type FastifyReply, type FastifyRequest } from 'fastify';
import { z } from 'zod';
import { isId, notFound } from '../../kernel/index.js';
import { viewerOf } from '../../platform/auth/index.js';
import { BlobStore } from '../../platform/blobs/index.js';
import { Authorize, parseInput } from '../../platform/graphql/index.js';
import { type Download, sendFile, withUpload } from '../../platform/uploads/index.js';
import { uncertainDay } from '../uncertain-day.schema.js';
import { AddAnimalFile, ANIMAL_FILES } from './add-animal-file.js';
import { AnimalFileStore, type AnimalFileView } from './animal-file.store.js';

/** What may stand beside the bytes in the address. */
const wording = z.object({
  name: z.string().max(1000, 'This name is longer than 1,000 characters. | Shorten it.').default(''),
  caption: z
    .string()
    .trim()
    .min(1, 'The caption is empty. | Write something, or leave it out.')
    .max(300, 'The caption is longer than 300 characters. | Shorten it.')
    .optional(),
  when: uncertainDay.optional(),
});

/** Pictures and papers of animals: sent as the bytes they are, given back as downloads. */
@Controller('animals/:animalId/files')
export class AnimalFilesController {
  constructor(
    private readonly addFile: AddAnimalFile,
    private readonly files: AnimalFileStore,
    private readonly blobs: BlobStore,
  ) {}

  /** `?name=` names it, `?caption=` describes it, `?when=` says when it was taken (EDTF). The body is the file. */
  @Put()
  @RouteConfig({ rawBody: true })
  @Authorize('animal.add-file')
  async put(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('animalId') animalId: string,
    @Query() query: unknown,
  ): Promise<void> {
    const viewer = viewerOf(request);
    const { fileId, added } = await withUpload(request, reply, ANIMAL_FILES, async (declared, source) => {
      if (!isId(animalId)) throw notFound('animal');
      const { name, caption = null, when = null } = parseInput(wording, query);
      return this.addFile.execute(viewer, { animalId, name, caption, when, declared }, source);
    });
    await reply.status(added ? 201 : 200).send({ id: fileId, animalId });
  }

  /** A picture as others see it; for the keeper who sent a paper, the paper. */
  @Get(':fileId')
  @Authorize('animal.read')
  async get(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('animalId') animalId: string,
    @Param('fileId') fileId: string,
  ): Promise<void> {
    await this.send(request, reply, { animalId, fileId }, (file) => jpeg(file, 'shared') ?? asSent(file));
  }

  /** A picture, small. */
  @Get(':fileId/thumbnail')
  @Authorize('animal.read')
  async getThumbnail(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('animalId') animalId: string,
    @Param('fileId') fileId: string,
  ): Promise<void> {
    await this.send(request, reply, { animalId, fileId }, (file) => jpeg(file, 'thumb'));
  }

  /** The file as it was sent, for the keeper who sent it. */
  @Get(':fileId/original')
  @Authorize('animal.read')
  async getOriginal(
    @Req() request: FastifyRequest,
    @Res() reply: FastifyReply,
    @Param('animalId') animalId: string,
    @Param('fileId') fileId: string,
  ): Promise<void> {
    await this.send(request, reply, { animalId, fileId }, asSent);
  }

  private async send(
    request: FastifyRequest,
    reply: FastifyReply,
    { animalId, fileId }: { animalId: string; fileId: string },
    choose: (file: AnimalFileView) => Download | null,
  ): Promise<void> {
    const viewer = viewerOf(request);
    const files = isId(animalId) ? await this.files.findOfAnimals(viewer, [animalId]) : new Map<string, never>();
    const file = files.get(animalId)?.find(({ id }) => id === fileId);
    const download = file === undefined ? null : choose(file);
    if (download === null) throw notFound('file');
    await sendFile(reply, this.blobs, download);
  }
}

function asSent({ original, fileName }: AnimalFileView): Download | null {
  return original === null ? null : { ...original, fileName };
}

/** The copies have a name of their own: the one a file was sent with may say more than the keeper wants told. */
function jpeg({ copies, id }: AnimalFileView, which: 'shared' | 'thumb'): Download | null {
  return copies === null ? null : { ...copies[which], mediaType: 'image/jpeg', fileName: `${id}.jpg` };
}

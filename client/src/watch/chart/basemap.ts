// An optional base map out of one local file. Fetched only where the server has one, so that a
// tablet without it pays nothing. No WebGL: old tablets have little of it.

import type ImageTile from "ol/ImageTile.js";
import type BaseLayer from "ol/layer/Base.js";
import TileLayer from "ol/layer/Tile.js";
import VectorTileLayer from "ol/layer/VectorTile.js";
import XYZ from "ol/source/XYZ.js";
import { Fill, Stroke, Style } from "ol/style.js";
import TileState from "ol/TileState.js";
import { PMTilesVectorSource } from "ol-pmtiles";
import { PMTiles, TileType } from "pmtiles";
import { BASE_MAP } from "../../routes.ts";
import type { Palette } from "./palette.ts";

/** The base map's layer; `null` when the file cannot be had or is none. */
export async function baseMap(palette: Palette): Promise<BaseLayer | null> {
  const url = new URL(BASE_MAP, location.href).href;
  const file = new PMTiles(url);
  try {
    const head = await file.getHeader();
    if (head.tileType !== TileType.Mvt) {
      return new TileLayer({ source: pictures(file, head.minZoom, head.maxZoom), zIndex: 0 });
    }
  } catch {
    return null;
  }
  const style = new Style({
    fill: new Fill({ color: palette.land }),
    stroke: new Stroke({ color: palette.edge, width: 1 }),
  });
  return new VectorTileLayer({ source: new PMTilesVectorSource({ url }), style, zIndex: 0, declutter: true });
}

/** Picture tiles out of the file; a place without a tile stays empty. */
function pictures(file: PMTiles, minZoom: number, maxZoom: number): XYZ {
  return new XYZ({
    minZoom,
    maxZoom,
    // Nothing is fetched from this address: the loader below reads the tile out of the file.
    url: "{z}/{x}/{y}",
    tileLoadFunction: (tile) => {
      const [z, x, y] = tile.getTileCoord() as [number, number, number];
      file
        .getZxy(z, x, y)
        .then((found) => {
          const image = (tile as ImageTile).getImage();
          if (found === undefined || !(image instanceof HTMLImageElement)) {
            tile.setState(TileState.EMPTY);
            return;
          }
          const address = URL.createObjectURL(new Blob([found.data]));
          image.onload = () => URL.revokeObjectURL(address);
          image.src = address;
        })
        .catch(() => tile.setState(TileState.ERROR));
    },
  });
}

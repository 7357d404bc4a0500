"""Train the segmentation network on a folder of scenes with class maps and on drawn scenes.

    python -m journal_server.measurement.training.train SCENES --encoder ENCODER.pth --out STATE.pth
    python -m journal_server.measurement.training.train SCENES ... --hold-out planter=bed wall=fence

SCENES holds NAME.jpg, NAME.classes.png and NAME.truth.json; ``data.csv`` lists the ones used, with SHA-256.
"""

# mypy: allow-subclassing-any, allow-untyped-decorators

from __future__ import annotations

import argparse
import json
import math
import multiprocessing
import random
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import torch
from numpy.typing import NDArray
from PIL import Image
from torch import Tensor
from torch.nn import functional

from journal_server.measurement.training import augment
from journal_server.measurement.training.drawn_scenes import DrawnScene, draw_scene
from journal_server.measurement.training.network import (
    CLASS_COUNT,
    SegmentationNetwork,
    load_encoder,
    log_class_weights,
)

SCENE_SIZE = (736, 552)
DRAWN_SIDE = 512
CROP = 448
BATCH_SCENES, BATCH_DRAWN, BATCH_BACKDROPS = 20, 11, 1
TOLD_SHARE = 0.6
AREA_WINDOWS = (28, 112, 448)


@dataclass
class Store:
    """Pictures (n, 3, h, w) and classes (n, h, w) as uint8, declared colours (n, SLOTS, 3) in CIELAB."""

    pictures: Tensor
    classes: Tensor
    bloom: Tensor
    foliage: Tensor
    filled: int = 0

    @classmethod
    def empty(cls, count: int, size: tuple[int, int], device: torch.device) -> Store:
        width, height = size
        slots = torch.full((count, augment.SLOTS, 3), math.nan, device=device)
        return cls(
            torch.zeros((count, 3, height, width), dtype=torch.uint8, device=device),
            torch.zeros((count, height, width), dtype=torch.uint8, device=device),
            slots,
            slots.clone(),
        )

    def put(self, srgb: NDArray[np.uint8], classes: NDArray[np.uint8], bloom: Tensor, foliage: Tensor) -> None:
        at = self.filled % len(self.pictures)
        self.pictures[at] = torch.from_numpy(srgb.transpose(2, 0, 1).copy()).to(self.pictures.device)
        self.classes[at] = torch.from_numpy(np.array(classes)).to(self.classes.device)
        self.bloom[at], self.foliage[at] = bloom.to(self.bloom.device), foliage.to(self.foliage.device)
        self.filled += 1

    def draw(self, count: int, low: float, high: float) -> tuple[Tensor, Tensor, Tensor, Tensor]:
        """Random crops; ``low`` and ``high`` bound the zoom."""
        device = self.pictures.device
        chosen = torch.randint(min(self.filled, len(self.pictures)), (count,), device=device)
        zoom = torch.exp(torch.rand(count, device=device) * math.log(high / low) + math.log(low))
        kinds = torch.arange(CLASS_COUNT, device=device, dtype=torch.uint8).view(1, -1, 1, 1)
        soft = (self.classes[chosen].unsqueeze(1) == kinds).float()
        picture, classes = augment.crop(self.pictures[chosen].float() / 255, soft, CROP, zoom)
        return picture, classes, self.bloom[chosen], self.foliage[chosen]


def _slots(colours: list[tuple[float, float, float]]) -> Tensor:
    slots = torch.full((augment.SLOTS, 3), math.nan)
    if colours:
        kept = torch.tensor(colours[: augment.SLOTS], dtype=torch.float32)
        slots[: len(kept)] = augment.srgb_to_lab(kept)
    return slots


def _from_hex(colours: list[str] | None) -> list[tuple[float, float, float]]:
    return [(int(c[1:3], 16) / 255, int(c[3:5], 16) / 255, int(c[5:7], 16) / 255) for c in colours or []]


def is_held_out(truth: dict[str, Any], held_out: list[str]) -> bool:
    """Whether a scene shows one of the kinds named as ``key=value``."""
    kinds = {**truth, **truth["declared"]}
    return any(str(kinds.get(key)) == value for key, value in (pair.split("=") for pair in held_out))


def load_scenes(folder: Path, held_out: list[str], device: torch.device) -> Store:
    truths = [json.loads(path.read_text()) for path in sorted(folder.glob("*.truth.json"))]
    truths = [truth for truth in truths if not is_held_out(truth, held_out)]
    store = Store.empty(len(truths), SCENE_SIZE, device)
    for truth in truths:
        picture = (
            Image.open(folder / f"{truth['name']}.jpg").convert("RGB").resize(SCENE_SIZE, Image.Resampling.BICUBIC)
        )
        coded = Image.open(folder / f"{truth['name']}.classes.png")
        plane = coded.getchannel(0) if coded.mode == "RGB" else Image.frombytes("L", coded.size, coded.tobytes())
        declared = truth["declared"]
        store.put(
            np.asarray(picture),
            np.asarray(plane.resize(SCENE_SIZE, Image.Resampling.NEAREST)),
            _slots(_from_hex(declared["bloom_colours"])),
            _slots(_from_hex(declared["foliage_colours"])),
        )
    return store


def _draw_numbered(seed: int) -> tuple[bool, DrawnScene]:
    plants = seed % 6 != 0
    return plants, draw_scene(seed, DRAWN_SIDE, plants)


def collect_drawn(results: Iterator[tuple[bool, DrawnScene]], drawn: Store, backdrops: Store, at_most: int) -> None:
    for _ in range(at_most):
        plants, scene = next(results)
        (drawn if plants else backdrops).put(
            scene.srgb, scene.classes, _slots(list(scene.bloom_colours)), _slots(list(scene.foliage_colours))
        )


def batch(scenes: Store, drawn: Store, backdrops: Store) -> tuple[Tensor, Tensor]:
    """One batch of network inputs and soft classes."""
    parts = (
        scenes.draw(BATCH_SCENES, 0.55, 2.8),
        drawn.draw(BATCH_DRAWN, 0.8, 2.0),
        backdrops.draw(BATCH_BACKDROPS, 0.8, 2.0),
    )
    pictures, classes, bloom, foliage = (torch.cat(column) for column in zip(*parts, strict=True))
    backdrop = backdrops.draw(len(pictures), 0.8, 2.0)[0]
    pictures, bloom, foliage = augment.recolour(pictures, classes, bloom, foliage)
    pictures, classes = augment.close_gaps(pictures, classes)
    pictures, classes = augment.change_background(pictures, classes, backdrop)
    pictures, classes = augment.paste_neighbour(pictures, classes)
    pictures = augment.light_and_camera(pictures)
    bloom, foliage = augment.jitter_declared(bloom, TOLD_SHARE), augment.jitter_declared(foliage, TOLD_SHARE)
    return augment.network_input(pictures, bloom, foliage), classes


def _window_means(planes: Tensor, window: int) -> Tensor:
    n, c, height, width = planes.shape
    return planes.reshape(n, c, height // window, window, width // window, window).mean((3, 5))


def loss_of(logits: Tensor, classes: Tensor) -> Tensor:
    """Weighted soft cross-entropy plus the error of areas in windows.

    Rare classes weigh more in the cross-entropy, which inflates their probabilities by the weight; dividing
    by it again (``network.log_class_weights``) gives the honest ones, whose areas are compared.
    """
    weights = log_class_weights(logits)
    entropy = -(classes * weights.exp() * functional.log_softmax(logits, 1)).sum(1).mean()
    error = (logits - weights).softmax(1) - classes
    areas = torch.stack((error[:, 1:4].sum(1), error[:, 2], error[:, 3], error[:, 4]), 1)
    area = sum(_window_means(areas, window).abs().mean() for window in AREA_WINDOWS)
    return entropy + 0.5 * area


class MovingAverage:
    def __init__(self, network: SegmentationNetwork) -> None:
        self.state = {key: value.detach().clone() for key, value in network.state_dict().items()}

    @torch.no_grad()
    def update(self, network: SegmentationNetwork, step: int) -> None:
        keep = min(0.9985, (1 + step) / (20 + step))
        own = [v for v in self.state.values() if v.is_floating_point()]
        new = [v for v in network.state_dict().values() if v.is_floating_point()]
        torch._foreach_lerp_(own, new, 1 - keep)


def train(options: argparse.Namespace) -> None:
    torch.manual_seed(options.seed)
    random.seed(options.seed)
    torch.backends.cuda.matmul.allow_tf32 = torch.backends.cudnn.allow_tf32 = True
    device = torch.device("cuda" if torch.cuda.is_available() else "cpu")
    begun = time.monotonic()
    size = (DRAWN_SIDE, DRAWN_SIDE)
    drawn, backdrops = Store.empty(options.drawn, size, device), Store.empty(options.drawn // 6, size, device)
    with multiprocessing.get_context("spawn").Pool(options.workers) as pool:
        results = pool.imap(_draw_numbered, range(options.seed * 1_000_000, (options.seed + 1) * 1_000_000))
        scenes = load_scenes(options.scenes, options.hold_out, device)
        collect_drawn(results, drawn, backdrops, options.workers * 4)
        print(f"{scenes.filled} scenes, {drawn.filled} drawn after {time.monotonic() - begun:.0f} s", flush=True)
        average = _optimise(options, device, (scenes, drawn, backdrops), results)
        pool.terminate()
    torch.save({key: v.half() if v.is_floating_point() else v for key, v in average.state.items()}, options.out)
    print(f"wrote {options.out}", flush=True)


def _network(options: argparse.Namespace, device: torch.device) -> SegmentationNetwork:
    network = SegmentationNetwork()
    if options.encoder:
        load_encoder(network, torch.load(options.encoder, map_location="cpu", weights_only=True))
    if options.start:
        network.load_state_dict(torch.load(options.start, map_location="cpu", weights_only=True))
    network.to(device, memory_format=torch.channels_last)
    return network


def _optimise(
    options: argparse.Namespace,
    device: torch.device,
    stores: tuple[Store, Store, Store],
    results: Iterator[tuple[bool, DrawnScene]],
) -> MovingAverage:
    network = _network(options, device)
    known = {id(p) for module in network.encoder_modules() for p in module.parameters()}
    groups = [
        {"params": [p for p in network.parameters() if id(p) in known], "peak": 0.5 * options.rate},
        {"params": [p for p in network.parameters() if id(p) not in known], "peak": options.rate},
    ]
    optimiser = torch.optim.AdamW(groups, weight_decay=0.02, fused=device.type == "cuda")
    average = MovingAverage(network)
    begun, seconds, step = time.monotonic(), 60 * options.minutes, 0
    while (elapsed := time.monotonic() - begun) < seconds:
        factor = min(1.0, (step + 1) / 300) * 0.5 * (1 + math.cos(math.pi * elapsed / seconds))
        for group in optimiser.param_groups:
            group["lr"] = factor * group["peak"]
        with torch.no_grad():
            inputs, classes = batch(*stores)
        with torch.autocast(device.type, torch.bfloat16):
            logits = network(inputs.contiguous(memory_format=torch.channels_last))
        loss = loss_of(logits.float(), classes)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 2.0)
        optimiser.step()
        average.update(network, step)
        # drawn scenes arrive while training; once the store is full, the oldest are replaced
        if step % 4 == 0 and elapsed < 0.9 * seconds:
            _collect_ready(results, stores[1], stores[2])
        if step % 200 == 0:
            print(f"step {step} {elapsed:.0f} s loss {loss.item():.4f} drawn {stores[1].filled}", flush=True)
        step += 1
    return average


def _collect_ready(results: Any, drawn: Store, backdrops: Store) -> None:
    for _ in range(8):
        try:
            plants, scene = results.next(timeout=0)
        except multiprocessing.TimeoutError:
            return
        collect_drawn(iter([(plants, scene)]), drawn, backdrops, 1)


def parse() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("scenes", type=Path)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--encoder", type=Path)
    parser.add_argument("--start", type=Path, help="a state to go on from")
    parser.add_argument("--minutes", type=float, default=9.0)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--rate", type=float, default=1.5e-3)
    parser.add_argument("--workers", type=int, default=12)
    parser.add_argument("--drawn", type=int, default=4000, help="drawn scenes kept at once")
    parser.add_argument("--hold-out", nargs="*", default=[], metavar="KEY=VALUE")
    return parser.parse_args()


if __name__ == "__main__":
    train(parse())

"""The segmentation network: a small ImageNet-trained encoder, a stem for the declared colours, a light decoder.

Input is (n, 9, h, w) with h and w multiples of 32: sRGB scaled to (x - 127) / 128, then for the nearest
declared bloom colour and for the nearest declared foliage colour the chroma distance, the lightness
difference and a flag that a colour was declared at all (all zero when none was). Output is (n, 6, h, w) logits.
"""

# mypy: allow-subclassing-any, allow-untyped-decorators

from __future__ import annotations

from collections.abc import Sequence

import torch
from torch import Tensor, nn
from torch.nn import functional

CLASS_COUNT = 6
# kernel, stride, expansion, channels out, of EfficientNet-Lite0 (Tan and Le 2019), without its last four blocks
ENCODER_BLOCKS = (
    (3, 1, 1, 16),
    (3, 2, 6, 24),
    (3, 1, 6, 24),
    (5, 2, 6, 40),
    (5, 1, 6, 40),
    (3, 2, 6, 80),
    (3, 1, 6, 80),
    (3, 1, 6, 80),
    (5, 1, 6, 112),
    (5, 1, 6, 112),
    (5, 1, 6, 112),
    (5, 2, 6, 192),
    (5, 1, 6, 192),
)
# background, foliage, bloom, spent, planter, card
CLASS_WEIGHTS = (1.0, 1.0, 1.5, 3.0, 1.0, 1.0)
STAGE_ENDS = {0: "half", 2: "quarter", 4: "eighth", 10: "sixteenth", 12: "thirtysecond"}


def log_class_weights(like: Tensor) -> Tensor:
    """(1, 6, 1, 1): what to take off the logits to undo the class weights of the training loss."""
    return torch.tensor(CLASS_WEIGHTS, device=like.device, dtype=like.dtype).log().view(1, -1, 1, 1)


def _convolution(
    inputs: int, outputs: int, kernel: int = 1, stride: int = 1, groups: int = 1, act: bool = True
) -> nn.Sequential:
    # stride 2 pads as the encoder was trained: the odd pixel at the right and bottom
    before, after = ((kernel - 2) // 2, (kernel - 1) // 2) if stride == 2 else (kernel // 2, kernel // 2)
    layers: list[nn.Module] = []
    if before != after:
        layers.append(nn.ZeroPad2d((before, after, before, after)))
        before = 0
    layers.append(nn.Conv2d(inputs, outputs, kernel, stride, before, groups=groups, bias=False))
    layers.append(nn.BatchNorm2d(outputs, eps=1e-3, momentum=0.02))
    if act:
        layers.append(nn.ReLU6())
    return nn.Sequential(*layers)


class InvertedResidual(nn.Module):
    def __init__(self, inputs: int, outputs: int, kernel: int, stride: int, expansion: int) -> None:
        super().__init__()
        middle = inputs * expansion
        self.expand = _convolution(inputs, middle) if expansion > 1 else nn.Identity()
        self.depthwise = _convolution(middle, middle, kernel, stride, groups=middle)
        self.project = _convolution(middle, outputs, act=False)
        self.residual = stride == 1 and inputs == outputs

    def forward(self, x: Tensor) -> Tensor:
        y = self.project(self.depthwise(self.expand(x)))
        return x + y if self.residual else y


class Mix(nn.Module):
    """Depthwise convolution, then a widened pointwise pair, added to the input."""

    def __init__(self, channels: int, kernel: int, expansion: int = 2) -> None:
        super().__init__()
        self.depthwise = _convolution(channels, channels, kernel, groups=channels, act=False)
        self.widen = _convolution(channels, channels * expansion)
        self.narrow = _convolution(channels * expansion, channels, act=False)

    def forward(self, x: Tensor) -> Tensor:
        return x + self.narrow(self.widen(self.depthwise(x)))


def _enlarge(x: Tensor) -> Tensor:
    return functional.interpolate(x, scale_factor=2.0, mode="bilinear", align_corners=False)


class SegmentationNetwork(nn.Module):
    def __init__(self) -> None:
        super().__init__()
        self.stem = _convolution(3, 32, 3, 2)
        blocks: list[nn.Module] = []
        channels = 32
        for kernel, stride, expansion, outputs in ENCODER_BLOCKS:
            blocks.append(InvertedResidual(channels, outputs, kernel, stride, expansion))
            channels = outputs
        self.blocks = nn.ModuleList(blocks)
        self.hint_half = _convolution(9, 16, 3, 2)
        self.hint_quarter = nn.Sequential(_convolution(16, 16, 3, 2, groups=16), _convolution(16, 24, act=False))
        self.context = nn.Sequential(nn.AdaptiveAvgPool2d(1), nn.Conv2d(192, 160, 1))
        self.deep = _convolution(192, 160, act=False)
        self.deep_mix = Mix(160, 5, 2)
        self.lateral_sixteenth = _convolution(112 + 160, 112, act=False)
        self.mix_sixteenth = Mix(112, 5, 2)
        self.lateral_eighth = _convolution(40 + 112, 80, act=False)
        self.mix_eighth = Mix(80, 5, 2)
        self.lateral_quarter = _convolution(24 + 24 + 80, 48, act=False)
        self.mix_quarter = nn.Sequential(Mix(48, 5, 2), Mix(48, 3, 2))
        self.up_quarter = _convolution(48, 24, act=False)
        self.lateral_half = _convolution(16 + 16, 24, act=False)
        self.mix_half = Mix(24, 3, 2)
        self.head = nn.Conv2d(24, CLASS_COUNT * 4, 1)

    def forward(self, x: Tensor) -> Tensor:
        hint_half = self.hint_half(x)
        hint_quarter = self.hint_quarter(hint_half)
        y = self.stem(x[:, :3])
        stages: dict[str, Tensor] = {}
        for index, block in enumerate(self.blocks):
            y = block(y)
            if index in STAGE_ENDS:
                # the declared colours join the encoder early, so that deep features see them too
                y = y + hint_quarter if index == 2 else y
                stages[STAGE_ENDS[index]] = y
        y = self.deep_mix(self.deep(y) + self.context(y))
        y = self.mix_sixteenth(self.lateral_sixteenth(torch.cat((stages["sixteenth"], _enlarge(y)), 1)))
        y = self.mix_eighth(self.lateral_eighth(torch.cat((stages["eighth"], _enlarge(y)), 1)))
        y = self.lateral_quarter(torch.cat((stages["quarter"], hint_quarter, _enlarge(y)), 1))
        y = _enlarge(self.up_quarter(self.mix_quarter(y)))
        y = self.mix_half(y + self.lateral_half(torch.cat((stages["half"], hint_half), 1)))
        return functional.pixel_shuffle(self.head(y), 2)

    def encoder_modules(self) -> Sequence[nn.Module]:
        return (self.stem, self.blocks)


def load_encoder(network: SegmentationNetwork, state: dict[str, Tensor]) -> None:
    """Fill the encoder from a published EfficientNet-Lite0 state; a shape that does not fit raises ValueError."""
    names = {"_conv_stem": "stem", "_bn0": "stem"}
    convolutions = {"_expand_conv": "expand", "_depthwise_conv": "depthwise", "_project_conv": "project"}
    norms = {0: {"_bn1": "depthwise", "_bn2": "project"}}
    full = {"_bn0": "expand", "_bn1": "depthwise", "_bn2": "project"}
    own = network.state_dict()
    for key, value in state.items():
        parts = key.split(".")
        if parts[0] in names:
            prefix, module = names[parts[0]], parts[0]
        elif parts[0] == "_blocks" and int(parts[1]) < len(ENCODER_BLOCKS):
            module = parts[2]
            part = convolutions.get(module) or norms.get(int(parts[1]), full)[module]
            prefix = f"blocks.{parts[1]}.{part}"
        else:
            continue
        wanted = 4 if "conv" in module else 1
        target = next(
            k
            for k in own
            if k.startswith(prefix + ".")
            and k.endswith("." + parts[-1])
            and (own[k].dim() == value.dim() and (value.dim() == wanted or value.dim() == 0))
        )
        if own[target].shape != value.shape:
            raise ValueError(f"{key} does not fit {target}")
        own[target] = value
    network.load_state_dict(own)

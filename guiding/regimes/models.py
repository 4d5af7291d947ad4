"""What moves a river besides rain: releases from a dam, the tide, ice."""
